"""One melody written down in MusicXML 4.0, ABC 2.1, Humdrum **kern and a Standard MIDI File, for the format law."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from xml.sax.saxutils import quoteattr

import mido

from earloop.line import Pitch

TRIPLET = Fraction(1, 3)
TICKS = 480


@dataclass(frozen=True)
class Written:
    """A note (or a rest, without pitch) whose `values` are tied together; three triplet values stand in a row."""

    pitch: Pitch | None
    values: tuple[Fraction, ...]
    grace: Pitch | None = None
    fermata: bool = False
    breath: bool = False
    slur_start: bool = False
    slur_stop: bool = False

    @property
    def length(self) -> Fraction:
        return sum(self.values, Fraction(0))


@dataclass(frozen=True)
class Page:
    """Bars of notes; `barlines` are `plain`, `dotted` or `double`; without a meter the bars are of any length."""

    bars: tuple[tuple[Written, ...], ...]
    barlines: tuple[str, ...]
    fifths: int
    metered: bool


def write_all(page: Page, folder: Path) -> dict[str, Path]:
    """Write the page in every format; format name → file."""
    texts = {"musicxml": _musicxml(page), "abc": _abc(page), "krn": _humdrum(page)}
    paths = {kind: folder / f"page.{kind}" for kind in (*texts, "mid")}
    for kind, text in texts.items():
        paths[kind].write_text(text, encoding="utf-8")
    _midi(page).save(str(paths["mid"]))
    return paths


def _musicxml(page: Page) -> str:
    time = "<time><beats>4</beats><beat-type>4</beat-type></time>" if page.metered else "<time><senza-misura/></time>"
    measures = []
    for number, (bar, barline) in enumerate(zip(page.bars, page.barlines, strict=True), start=1):
        head = ""
        if number == 1:
            head = f"<attributes><divisions>12</divisions><key><fifths>{page.fifths}</fifths></key>{time}</attributes>"
        style = {"plain": "", "dotted": "dotted", "double": "light-light"}[barline]
        end = f'<barline location="right"><bar-style>{style}</bar-style></barline>' if style else ""
        notes = "".join(_xml_note(note) for note in bar)
        measures.append(f"<measure number={quoteattr(str(number))}>{head}{notes}{end}</measure>")
    parts = '<part-list><score-part id="P1"><part-name>Voice</part-name></score-part></part-list>'
    body = "".join(measures)
    return f'<?xml version="1.0"?><score-partwise version="4.0">{parts}<part id="P1">{body}</part></score-partwise>'


def _xml_pitch(pitch: Pitch) -> str:
    return f"<pitch><step>{pitch.letter}</step><alter>{pitch.alter}</alter><octave>{pitch.octave}</octave></pitch>"


def _xml_note(note: Written) -> str:
    if note.pitch is None:
        return "".join(f"<note><rest/><duration>{int(v * 12)}</duration></note>" for v in note.values)
    text = ""
    if note.grace is not None:
        text = f"<note><grace/>{_xml_pitch(note.grace)}<type>eighth</type></note>"
    final = len(note.values) - 1
    for index, value in enumerate(note.values):
        ties = ('<tie type="stop"/>' if index else "") + ('<tie type="start"/>' if index < final else "")
        signs = '<slur type="start" number="1"/>' if note.slur_start and index == 0 else ""
        signs += '<slur type="stop" number="1"/>' if note.slur_stop and index == final else ""
        signs += "<fermata/>" if note.fermata and index == final else ""
        signs += "<articulations><breath-mark/></articulations>" if note.breath and index == final else ""
        more = f"<notations>{signs}</notations>" if signs else ""
        text += f"<note>{_xml_pitch(note.pitch)}<duration>{int(value * 12)}</duration>{ties}{more}</note>"
    return text


def _abc(page: Page) -> str:
    order = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]
    lines = ["X:1", "T:Law", "M:4/4" if page.metered else "M:none", "L:1/4", f"K:{order[page.fifths + 7]}"]
    for bar, barline in zip(page.bars, page.barlines, strict=True):
        sign = {"plain": "|", "dotted": ".|", "double": "||"}[barline]
        lines.append(" ".join(_abc_notes(bar)) + " " + sign)
    return "\n".join(lines) + "\n"


def _abc_pitch(pitch: Pitch) -> str:
    sign = {-1: "_", 0: "=", 1: "^"}[pitch.alter]
    if pitch.octave >= 5:
        return sign + pitch.letter.lower() + "'" * (pitch.octave - 5)
    return sign + pitch.letter + "," * (4 - pitch.octave)


def _abc_notes(bar: tuple[Written, ...]) -> list[str]:
    texts = []
    in_triplet = 0
    for note in bar:
        opening = ""
        if note.values[0] == TRIPLET and in_triplet == 0:
            opening, in_triplet = "(3", 3
        in_triplet = max(0, in_triplet - 1)
        values = [value * 3 / 2 if value == TRIPLET else value for value in note.values]
        if note.pitch is None:
            texts.append(opening + " ".join(f"z{value}" for value in values))
            continue
        grace = "{" + _abc_pitch(note.grace) + "}" if note.grace is not None else ""
        signs = ("!fermata!" if note.fermata else "") + ("!breath!" if note.breath else "")
        body = "-".join(f"{_abc_pitch(note.pitch)}{value}" for value in values)
        slur, close = "(" if note.slur_start else "", ")" if note.slur_stop else ""
        texts.append(f"{opening}{grace}{slur}{signs}{body}{close}")
    return texts


def _humdrum(page: Page) -> str:
    sharps = "".join(f"{letter}#" for letter in "fcgdaeb"[: max(0, page.fifths)])
    flats = "".join(f"{letter}-" for letter in "beadgcf"[: max(0, -page.fifths)])
    lines = ["**kern", f"*k[{sharps}{flats}]", "*M4/4" if page.metered else "*MX", "=1-"]
    for number, (bar, barline) in enumerate(zip(page.bars, page.barlines, strict=True), start=2):
        for note in bar:
            lines += _humdrum_note(note)
        lines.append(f"={number}" + {"plain": "", "dotted": ".", "double": "||"}[barline])
    return "\n".join([*lines, "*-"]) + "\n"


def _humdrum_pitch(pitch: Pitch) -> str:
    low, high = pitch.letter * (4 - pitch.octave), pitch.letter.lower() * (pitch.octave - 3)
    return (high if pitch.octave >= 4 else low) + {-1: "-", 0: "", 1: "#"}[pitch.alter]


def _humdrum_note(note: Written) -> list[str]:
    if note.pitch is None:
        return [f"{_recip(value)}r" for value in note.values]
    lines = [] if note.grace is None else [f"q8{_humdrum_pitch(note.grace)}"]
    final = len(note.values) - 1
    for index, value in enumerate(note.values):
        tie = "" if final == 0 else "[" if index == 0 else "]" if index == final else ""
        slur = "(" if note.slur_start and index == 0 else ""
        token = f"{slur}{tie if tie == '[' else ''}{_recip(value)}{_humdrum_pitch(note.pitch)}"
        token += "]" if tie == "]" else "_" if final and 0 < index < final else ""
        token += ")" if note.slur_stop and index == final else ""
        token += ";" if note.fermata and index == final else ""
        token += "," if note.breath and index == final else ""
        lines.append(token)
    return lines


def _recip(value: Fraction) -> str:
    whole = 4 / value
    if whole.denominator == 1:
        return str(whole.numerator)
    dotted = whole * 3 / 2
    return f"{dotted.numerator}."


def _midi(page: Page) -> mido.MidiFile:
    file = mido.MidiFile(ticks_per_beat=TICKS)
    track = mido.MidiTrack()
    file.tracks.append(track)
    if page.metered:
        track.append(mido.MetaMessage("time_signature", numerator=4, denominator=4, time=0))
    waiting = 0
    for note in (note for bar in page.bars for note in bar):
        ticks = int(note.length * TICKS)
        if note.pitch is None:
            waiting += ticks
            continue
        track.append(mido.Message("note_on", note=note.pitch.midi, velocity=70, time=waiting))
        track.append(mido.Message("note_off", note=note.pitch.midi, velocity=0, time=ticks))
        waiting = 0
    return file
