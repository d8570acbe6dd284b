"""MusicXML, Humdrum, MEI and cleaned ABC → bars, by walking music21's tree once, without copying it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from earloop.line import Marks, Pitch
from earloop.line.tone import NO_MARKS
from earloop.scores import printed_signs
from earloop.scores.bars import Bar, Entry, PartHandle, PartPage, ScorePages
from earloop.scores.errors import ScoreError
from earloop.scores.quiet import quiet

if TYPE_CHECKING:
    from music21.stream import Score

_STEPS = "CDEFGAB"
_FINEST = 65535
"""music21 keeps lengths as fractions up to this denominator; what is finer is rounding noise."""


def parse(text: str, kind: str, name: str) -> Any:
    """Text → music21's score. Nothing is cached, so no pickle is ever read or written."""
    from music21 import converter

    try:
        with quiet():
            reader = converter.Converter()
            reader.parseData(text, format=kind)
            found = reader.stream
    except RecursionError:
        raise ScoreError(f"{name} is nested too deeply to be a score: export it again.") from None
    except Exception as problem:
        # The library raises nearly every kind of error on damaged files; the user needs one sentence.
        reason = str(problem).strip().splitlines()[0][:160] if str(problem).strip() else type(problem).__name__
        raise ScoreError(
            f"{name} cannot be read as a score ({reason}): open it where it was made and export it again."
        ) from None
    if found is None:
        raise ScoreError(f"{name} holds no music.")
    return found


def pages(score: Score) -> ScorePages:
    """What a parsed score offers."""
    with quiet():
        from music21 import stream

        if isinstance(score, stream.Opus):
            score = next(iter(score.scores))
        parts = list(score.parts) if isinstance(score, stream.Score) else [score]
        handles = tuple(_handle(number, part) for number, part in enumerate(parts or [score], start=1))
        return ScorePages(title=_title(score), parts=handles)


def _title(score: Any) -> str:
    metadata = getattr(score, "metadata", None)
    if metadata is None:
        return ""
    return str(metadata.bestTitle or metadata.movementName or "").strip()


def _handle(number: int, part: Any) -> PartHandle:
    pitched = other = 0
    for element in part.recurse():
        if element.classSet & {"Note", "Chord"} and "Harmony" not in element.classSet:
            pitched += 1
        elif element.classSet & {"Unpitched", "PercussionChord"}:
            other += 1
    name = _part_name(part) or f"Part {number}"
    return PartHandle(number, name, pitched, pitched > 0 and pitched >= other, lambda: page(part, name))


def _part_name(part: Any) -> str:
    """The printed name; an identifier such as `spine_0` is no name."""
    found = part.partName
    if not found:
        instrument = next(iter(part.recurse().getElementsByClass("Instrument")), None)
        found = instrument and (instrument.partName or instrument.instrumentName)
    return " ".join(str(found or "").split())


def page(part: Any, name: str = "") -> PartPage:
    """One part → its bars."""
    with quiet():
        result = PartPage(name=name)
        spans = _Spans(part)
        measures = list(part.getElementsByClass("Measure"))
        if measures:
            starts = [_exact(part.elementOffset(measure)) for measure in measures]
            ends = [*starts[1:], starts[-1] + _exact(measures[-1].highestTime)]
            for measure, start, end in zip(measures, starts, ends, strict=True):
                result.bars.append(_bar(measure, end - start, result, spans))
        else:
            result.bars.append(_bar(part, _exact(part.highestTime), result, spans))
        spans.endings(measures, result.bars)
        return result


class _Spans:
    """What stretches over several notes: slurs, hairpins, endings; looked up by the note's identity."""

    def __init__(self, part: Any) -> None:
        self.slur_starts: Counter[int] = Counter()
        self.slur_stops: Counter[int] = Counter()
        self.hairpins: dict[int, tuple[str, int]] = {}
        self.open_hairpin: tuple[str, int] | None = None
        self.brackets: list[Any] = []
        for span in part.recurse().getElementsByClass("Spanner"):
            kind = type(span).__name__
            first, last = span.getFirst(), span.getLast()
            if first is None or last is None:
                continue
            if kind == "Slur" and first is not last:
                self.slur_starts[id(first)] += 1
                self.slur_stops[id(last)] += 1
            elif kind in ("Crescendo", "Diminuendo"):
                self.hairpins[id(first)] = (kind.lower(), id(last))
            elif kind == "RepeatBracket":
                self.brackets.append(span)

    def hairpin_at(self, note: Any) -> str:
        """The hairpin that covers this note; notes must be asked for in order."""
        self.open_hairpin = self.hairpins.get(id(note), self.open_hairpin)
        if self.open_hairpin is None:
            return ""
        kind, last = self.open_hairpin
        if last == id(note):
            self.open_hairpin = None
        return kind

    def endings(self, measures: list[Any], bars: list[Bar]) -> None:
        """Write volta numbers into the bars; a bracket covers all bars from its first to its last."""
        place = {id(measure): index for index, measure in enumerate(measures)}
        for bracket in self.brackets:
            first, last = place.get(id(bracket.getFirst())), place.get(id(bracket.getLast()))
            if first is None or last is None:
                continue
            numbers = tuple(int(number) for number in bracket.numberRange if str(number).isdigit())
            for bar in bars[first : last + 1]:
                bar.endings = numbers


def _exact(value: Any) -> Fraction:
    found = Fraction(value)
    return found if found.denominator <= _FINEST else found.limit_denominator(_FINEST)


def _bar(measure: Any, length: Fraction, result: PartPage, spans: _Spans) -> Bar:
    number = measure.measureNumberWithSuffix() if "Measure" in measure.classSet else ""
    bar = Bar(number=number if number != "0" or not result.bars else "", length=length)
    _barlines(measure, bar)
    pending: list[tuple[Fraction, str]] = []
    inner = [(0, measure)] + [(index, voice) for index, voice in enumerate(measure.getElementsByClass("Voice"))]
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
    _place_dynamics(bar, pending)
    return bar


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
        if result.fifths is None or (not result.mode and "Key" in kinds and element.sharps == result.fifths):
            result.fifths = int(element.sharps)
            result.mode = str(element.mode or "") if "Key" in kinds else ""
    elif "MetronomeMark" in kinds:
        if result.tempo is None:
            result.tempo = element.getQuarterBPM()
    elif "Instrument" in kinds and element.transposition is not None and not result.bars:
        interval = element.transposition
        result.move_semitones = int(interval.chromatic.semitones)
        result.move_steps = int(interval.generic.staffDistance)


def _place_dynamics(bar: Bar, pending: list[tuple[Fraction, str]]) -> None:
    """A dynamic holds from the first note at or after it."""
    for onset, sign in pending:
        for entry in bar.entries:
            if entry.pitches and entry.onset >= onset:
                entry.marks = replace(entry.marks, dynamic=sign)
                break


def _entry(element: Any, onset: Fraction, voice: int, spans: _Spans) -> Entry | None:
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


def _marks(note: Any, spans: _Spans) -> Marks:
    hairpin = spans.hairpin_at(note)
    starts, stops = spans.slur_starts[id(note)], spans.slur_stops[id(note)]
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
