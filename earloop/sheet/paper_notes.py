"""One tone of a layer → notes on paper: its value, its degree below it, its line told by colour and by stem.

Colour is never the only sign: upper stems go up, lower ones down, a middle line has diamond heads; a bridge is small
and in brackets, a held tone small in a voice of its own.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from earloop.layers.layer import LayerTone
from earloop.line import Pitch, Tone
from earloop.reading.record import Reading

COLOURS = {"upper": "#0072B2", "lower": "#D55E00", "middle": "#009E73"}
"""Told apart by colour-blind readers too (Okabe & Ito 2008, Color Universal Design)."""
_STEMS = {"upper": "up", "lower": "down"}
_ORNAMENTS = {
    "trill-mark": "Trill",
    "mordent": "Mordent",
    "inverted-mordent": "InvertedMordent",
    "turn": "Turn",
    "inverted-turn": "InvertedTurn",
    "schleifer": "Schleifer",
}
_ARTICULATIONS = {
    "staccato": "Staccato",
    "staccatissimo": "Staccatissimo",
    "tenuto": "Tenuto",
    "accent": "Accent",
    "strong-accent": "StrongAccent",
    "detached-legato": "DetachedLegato",
    "up-bow": "UpBow",
    "down-bow": "DownBow",
}
_BREAKS = {"breath": "BreathMark", "comma": "BreathMark", "caesura": "Caesura"}


def exact(value: float) -> Fraction:
    """Quarters as the fraction meant: a triplet's 0.333… is a third again."""
    return Fraction(value).limit_denominator(10_000)


def pitch_on_paper(pitch: Pitch, tone: Tone, written: bool) -> Pitch:
    """The pitch to print: as it sounds, or as the transposing instrument reads it."""
    if not written or tone.written is None:
        return pitch
    return pitch.moved(tone.written.height - tone.pitch.height, tone.written.midi - tone.pitch.midi)


def paper_note(reading: Reading, tone: LayerTone, written: bool) -> Any:
    """The note without its length, with degrees, colour and signs."""
    from music21 import note, pitch

    found = pitch_on_paper(tone.pitch, reading.line[tone.source], written)
    printed = note.Note(pitch.Pitch(step=found.letter, octave=found.octave, accidental=found.alter or None))
    if tone.voice in COLOURS:
        printed.style.color = COLOURS[tone.voice]
    printed.stemDirection = _STEMS.get(tone.voice, "unspecified")
    if tone.voice == "middle":
        printed.notehead = "diamond"
    if tone.role != "page":
        printed.style.noteSize = "cue"
        printed.noteheadParenthesis = tone.role == "bridge"
    if tone.role != "held":
        _degrees(printed, reading, tone)
    return printed


def _degrees(printed: Any, reading: Reading, tone: LayerTone) -> None:
    """Verse 1 the home degree, verse 2 the local one where it differs, verse 3 the page's own words."""
    home, local = str(reading.degrees[tone.source]), str(reading.local_degrees[tone.source])
    texts = {1: home, 2: local if local != home else ""}
    if tone.role == "page":
        texts[3] = reading.line[tone.source].marks.word
    for verse, text in texts.items():
        if text:
            shown = text if verse == 3 else text.replace("#", "♯").replace("b", "♭")
            printed.addLyric(shown, lyricNumber=verse, applyRaw=True)


def put_marks(notes: list[Any], reading: Reading, tone: LayerTone) -> None:
    """The page's signs: ornaments and articulations on the first note of a tied row, pauses on its last."""
    from music21 import articulations, expressions

    if tone.role != "page":
        return
    marks = reading.line[tone.source].marks
    first, last = notes[0], notes[-1]
    first.expressions += [getattr(expressions, _ORNAMENTS[o])() for o in marks.ornaments if o in _ORNAMENTS]
    first.articulations += [
        getattr(articulations, _ARTICULATIONS[a])() for a in marks.articulations if a in _ARTICULATIONS
    ]
    if marks.fermata:
        last.expressions.append(expressions.Fermata())
    if marks.break_after in _BREAKS:
        sign = getattr(articulations, _BREAKS[marks.break_after])()
        if marks.break_after == "comma":
            sign.symbol = "comma"
        last.articulations.append(sign)
