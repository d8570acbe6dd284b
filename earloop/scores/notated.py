"""MusicXML, Humdrum, MEI and cleaned ABC → bars, by walking music21's tree once, without copying it."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import partial
from typing import Any

from earloop.line import Marks, Pitch
from earloop.line.tone import NO_MARKS
from earloop.scores import humdrum_spines, printed_signs
from earloop.scores.bars import Bar, Entry, PartHandle, PartPage, ScorePages
from earloop.scores.errors import ScoreError, one_sentence
from earloop.scores.humdrum_spines import Spine, restore
from earloop.scores.quiet import quiet, uncollected
from earloop.scores.spans import Spans, identities

_STEPS = "CDEFGAB"
_FINEST = 65535
"""music21 keeps lengths as fractions up to this denominator; what is finer is rounding noise."""


def read(text: str, kind: str, name: str) -> ScorePages:
    """Text of the format `kind` → what it offers. Raises ScoreError where it is no score."""
    spines = None
    if kind == "humdrum":
        text = humdrum_spines.numbered(text)
        spines = humdrum_spines.spines(text)
        if not any(spine.kind == "**kern" for spine in spines):
            raise ScoreError(f"{name} is not Humdrum music: it has no **kern spine; check the file")
    with quiet(), one_sentence(name):
        return _pages(_parsed(text, kind, name), name, spines)


def _parsed(text: str, kind: str, name: str) -> Any:
    """Text → music21's score. Nothing is cached, so no pickle is ever read or written."""
    from music21 import converter

    reader = converter.Converter()
    with uncollected():
        reader.parseData(text, format=kind)
    if reader.stream is None:
        raise ScoreError(f"{name} holds no music: check the file")
    return reader.stream


def _pages(score: Any, name: str, spines: list[Spine] | None) -> ScorePages:
    """What a parsed score offers; `spines` are a Humdrum file's own, for what its parser drops."""
    from music21 import stream

    notes: tuple[str, ...] = ()
    if isinstance(score, stream.Opus):
        movements = list(score.scores)
        score = movements[0]
        if len(movements) > 1:
            notes = (f"{len(movements)} movements in this file: reading the first.",)
    parts = list(score.parts) if isinstance(score, stream.Score) else [score]
    handles = (_handle(number, part, name, spines) for number, part in enumerate(parts or [score], start=1))
    return ScorePages(_title(score), tuple(handles), notes)


def _title(score: Any) -> str:
    metadata = getattr(score, "metadata", None)
    if metadata is None:
        return ""
    return str(metadata.bestTitle or metadata.movementName or "").strip()


def _handle(number: int, part: Any, file: str, spines: list[Spine] | None) -> PartHandle:
    pitched = other = 0
    for element in part.recurse():
        kinds = element.classSet
        if "NotRest" not in kinds or "Harmony" in kinds:
            continue
        if "Unpitched" in kinds or "PercussionChord" in kinds:
            other += 1
        else:
            pitched += 1
    spine = _spine_of(part, spines)
    name = (spine and spine.name) or _part_name(part) or f"Part {number}"
    return PartHandle(number, name, pitched, pitched > 0 and pitched >= other, partial(page, part, name, file, spine))


def _spine_of(part: Any, spines: list[Spine] | None) -> Spine | None:
    """music21 names a Humdrum part after the column it began in."""
    column = str(part.id).removeprefix("spine_")
    if spines is None or not column.isdigit() or int(column) >= len(spines):
        return None
    return spines[int(column)]


def _part_name(part: Any) -> str:
    """The printed name; an identifier such as `spine_0` is no name."""
    found = getattr(part, "partName", "")
    if not found:
        instrument = next(iter(part.recurse().getElementsByClass("Instrument")), None)
        found = instrument and (instrument.partName or instrument.instrumentName)
    return " ".join(str(found or "").split())


def page(part: Any, name: str, file: str, spine: Spine | None = None) -> PartPage:
    """One part → its bars. Raises ScoreError, naming the `file`, where its tree cannot be walked."""
    with quiet(), one_sentence(file):
        result = PartPage(name=name)
        _sounding_move(part, result)
        spans = Spans(part)
        measures = list(part.getElementsByClass("Measure"))
        if measures:
            starts = [_exact(part.elementOffset(measure)) for measure in measures]
            ends = [*starts[1:], starts[-1] + _exact(measures[-1].highestTime)]
            for measure, start, end in zip(measures, starts, ends, strict=True):
                result.bars.append(_bar(measure, end - start, result, spans))
        else:
            result.bars.append(_bar(part, _exact(part.highestTime), result, spans))
        spans.endings(measures, result.bars)
        if spine is not None:
            restore(result, spine)
        return result


def _sounding_move(part: Any, result: PartPage) -> None:
    """From written to sounding pitch. Humdrum's pitches sound as they stand, and music21 then knows no move."""
    if getattr(part, "atSoundingPitch", True) is True:
        return
    instrument = next(iter(part.recurse().getElementsByClass("Instrument")), None)
    interval = instrument and instrument.transposition
    if interval is not None:
        result.move_semitones = int(interval.chromatic.semitones)
        result.move_steps = int(interval.generic.staffDistance)


def _exact(value: Any) -> Fraction:
    found = Fraction(value)
    return found if found.denominator <= _FINEST else found.limit_denominator(_FINEST)


def _bar(measure: Any, length: Fraction, result: PartPage, spans: Spans) -> Bar:
    number = measure.measureNumberWithSuffix() if "Measure" in measure.classSet else ""
    bar = Bar(number=number if number != "0" or not result.bars else "", length=length)
    _barlines(measure, bar)
    pending: list[tuple[Fraction, str]] = []
    voices = list(measure.getElementsByClass("Voice"))
    printed = [(index, voice) for index, voice in enumerate(voices) if not _played_only(voice)]
    inner = [(0, measure), *(printed or enumerate(voices))]
    for voice, stream in inner:
        shift = _exact(measure.elementOffset(stream)) if stream is not measure else Fraction(0)
        for element in stream.elements:
            onset = shift + _exact(stream.elementOffset(element))
            if "GeneralNote" in element.classSet:
                entry = _entry(element, onset, voice, spans)
                if entry is not None:
                    bar.entries.append(entry)
            else:
                _other(element, onset, bar, result, pending)
    bar.entries.sort(key=lambda entry: (entry.onset, not entry.grace))
    if len(inner) <= len(voices):  # or what is played only would make the bar longer than it is on the page
        ends = [entry.onset + entry.length for entry in bar.entries]
        bar.length = min(length, max(*ends, _exact(measure.barDuration.quarterLength)))
    _place_dynamics(bar, pending)
    return bar


def _played_only(voice: Any) -> bool:
    """Whether all notes of a voice are hidden: so notation programs write out a trill for their own playing."""
    notes = voice.notes
    return bool(notes) and all(note.hasStyleInformation and note.style.hideObjectOnPrint for note in notes)


def _barlines(measure: Any, bar: Bar) -> None:
    right, left = getattr(measure, "rightBarline", None), getattr(measure, "leftBarline", None)
    if right is not None:
        if type(right).__name__ == "Repeat":
            if right.direction == "end":
                bar.repeat_end = right.times or 2
            else:
                bar.signs += ("repeat next",)
        else:
            bar.barline = printed_signs.BARLINES.get(right.type, "")
    if left is not None and type(left).__name__ == "Repeat":
        bar.repeat_start = left.direction == "start"


def _other(element: Any, onset: Fraction, bar: Bar, result: PartPage, pending: list[tuple[Fraction, str]]) -> None:
    """Everything in a bar that is no note: signatures, tempo, dynamics, transposition."""
    kinds = element.classSet
    if "Dynamic" in kinds:
        pending.append((onset, str(element.value)))
    elif "TimeSignature" in kinds:
        bar.meter = (int(element.numerator), int(element.denominator))
    elif "SenzaMisuraTimeSignature" in kinds:
        bar.meter = (0, 0)
    elif "KeySignature" in kinds:
        if element.sharps is None:
            return
        if result.fifths is None or (not result.mode and "Key" in kinds and element.sharps == result.fifths):
            result.fifths = int(element.sharps)
            result.mode = str(element.mode or "") if "Key" in kinds else ""
    elif "RepeatExpression" in kinds:
        _leap(type(element).__name__, bar)
    elif "MetronomeMark" in kinds and result.tempo is None:
        result.tempo = element.getQuarterBPM()


def _leap(kind: str, bar: Bar) -> None:
    """`DalSegnoAlFine` → `dal segno al fine`; `Segno`, `Coda` and `Fine` are signs to leap to or to leave by."""
    words = re.sub(r"(?<!^)(?=[A-Z])", " ", kind).lower()
    if words in ("segno", "coda", "fine"):
        bar.signs += (words,)
    elif words.startswith(("da capo", "dal segno")):
        bar.leap = words


def _place_dynamics(bar: Bar, pending: list[tuple[Fraction, str]]) -> None:
    """A dynamic holds from the first note at or after it."""
    for onset, sign in pending:
        for entry in bar.entries:
            if entry.pitches and entry.onset >= onset:
                entry.marks = replace(entry.marks, dynamic=sign)
                break


def _entry(element: Any, onset: Fraction, voice: int, spans: Spans) -> Entry | None:
    kinds = element.classSet
    if "Harmony" in kinds or "Unpitched" in kinds or "PercussionChord" in kinds:
        return None
    grace = bool(element.duration.isGrace)
    length = Fraction(0) if grace else _exact(element.duration.quarterLength)
    if "NotRest" not in kinds:
        pause = _rest_marks(element)
        return Entry(onset, length, voice=voice, grace=grace, marks=pause)
    pitches = tuple(
        sorted((_pitch(pitch) for pitch in element.pitches), key=lambda p: (p.midi, p.height), reverse=True)
    )
    if not pitches:
        return None
    tie = element.tie
    tied = tie is not None and tie.type in ("start", "continue")
    return Entry(onset, length, pitches, voice, grace, tied, _marks(element, spans))


def _rest_marks(rest: Any) -> Marks:
    """A breath or fermata over a rest belongs to the tone before it; the one line moves it there."""
    if not rest.articulations and not rest.expressions:
        return NO_MARKS
    _, pause = printed_signs.articulations_of(rest.articulations)
    return Marks(break_after=pause, fermata=printed_signs.has_fermata(rest.expressions))


def _pitch(pitch: Any) -> Pitch:
    alter = round(pitch.alter)
    return Pitch(_STEPS.index(pitch.step), alter, pitch.implicitOctave)


def _marks(note: Any, spans: Spans) -> Marks:
    hairpin = spans.hairpin_at(note)
    keys = identities(note)
    starts, stops = (sum(ends.get(key, 0) for key in keys) for ends in (spans.slur_starts, spans.slur_stops))
    expressions, articulations, lyrics = note.expressions, note.articulations, note.lyrics
    if not (hairpin or starts or stops or expressions or articulations or lyrics):
        return NO_MARKS
    words, pause = printed_signs.articulations_of(articulations)
    return Marks(
        break_after=pause,
        fermata=printed_signs.has_fermata(expressions),
        slur_starts=starts,
        slur_stops=stops,
        ornaments=printed_signs.ornaments_of(expressions),
        articulations=words,
        hairpin=hairpin,
        word=printed_signs.lyric_of(lyrics),
    )
