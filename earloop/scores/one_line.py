"""Bars → the one line: ties joined, chords to their top tone, one tone at a time, and a sentence for each decision.

Decisions (common practice, no source): the top tone of a chord carries the melody. Where several voices share a
staff the first one is the line, and the others are heard only where it is silent, as in a solo piece whose lower
strings answer the upper ones. A grace note takes no time.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from earloop.line import Line, Marks, Meter, OtherTone, Pitch, Tone
from earloop.line.counted import counted
from earloop.scores.bars import Bar, Entry, PartPage
from earloop.scores.other_parts import played_order, same_onset, sounding_with
from earloop.scores.printed_signs import stronger


@dataclass(slots=True)
class _Sound:
    """A tone being put together, on the time line of the whole part."""

    start: Fraction
    end: Fraction
    pitches: tuple[Pitch, ...]
    grace: bool
    tied: bool
    measure: str
    marks: Marks


@dataclass(slots=True)
class _Gathered:
    sounds: list[_Sound] = field(default_factory=list)
    bars: list[tuple[Fraction, Bar]] = field(default_factory=list)
    chords: int = 0
    left_out: int = 0
    filled: int = 0
    trimmed: int = 0


def line_of(
    page: PartPage,
    bars: Sequence[Bar],
    title: str,
    source: str,
    notes: Sequence[str],
    beside: Sequence[PartPage] = (),
) -> Line | None:
    """The line of these bars in this order, or None where no tone sounds in them. `beside` are the other parts."""
    gathered = _gather(bars)
    if not gathered.sounds:
        return None
    _trim(gathered)
    start = gathered.sounds[0].start
    tones = tuple(_tone(sound, start, page) for sound in gathered.sounds)
    fifths = page.fifths
    if fifths is not None and (page.move_steps or page.move_semitones):
        fifths = _moved_fifths(fifths, page)
    others = _others(page, bars, beside, gathered.sounds)
    return Line(
        tones=tones,
        title=title,
        part=page.name,
        source=source,
        meters=_meters(gathered.bars, start),
        fifths=fifths,
        mode=page.mode,
        tempo=page.tempo,
        spelled=page.spelled,
        notes=(*notes, *page.notes, *_sentences(gathered, page), *_of_harmony(others, beside)),
        others=others,
    )


def _of_harmony(others: Sequence[OtherTone], beside: Sequence[PartPage]) -> list[str]:
    if not others:
        return []
    which = "other parts" if beside else "other tones of its page"
    return [f"The {which} are heard as its harmony."]


def _others(
    page: PartPage, bars: Sequence[Bar], beside: Sequence[PartPage], sounds: Sequence[_Sound]
) -> tuple[OtherTone, ...]:
    own = {(same_onset(float(sound.start)), sound.pitches[0].midi) for sound in sounds}
    return sounding_with(page, beside, played_order(page.bars, bars), own, float(sounds[0].start))


def _gather(bars: Sequence[Bar]) -> _Gathered:
    result = _Gathered()
    now = Fraction(0)
    for bar in bars:
        result.bars.append((now, bar))
        for entry in _first_voice(bar, result):
            _add(entry, now, bar.number, result)
        now += bar.length
        if bar.barline and result.sounds:
            _break(result.sounds[-1], bar.barline)
    return result


def _break(sound: _Sound, sign: str) -> None:
    sound.marks = replace(sound.marks, break_after=stronger(sound.marks.break_after, sign))


def _first_voice(bar: Bar, result: _Gathered) -> list[Entry]:
    """The bar's entries reduced to one voice; see the module's decisions."""
    notes = [entry for entry in bar.entries if entry.pitches]
    if not notes:
        return bar.entries
    first = min(entry.voice for entry in notes)
    if all(entry.voice == first for entry in notes):
        return [entry for entry in bar.entries if entry.pitches or entry.voice == first]
    chosen = [entry for entry in bar.entries if entry.voice == first]
    sounding = [(e.onset, e.onset + e.length) for e in chosen if e.pitches and not e.grace]
    for entry in notes:
        if entry.voice == first:
            continue
        if entry.grace or any(a <= entry.onset < b for a, b in sounding):
            result.left_out += 1
            continue
        until = min((a for a, _ in sounding if a > entry.onset), default=entry.onset + entry.length)
        length = min(entry.length, until - entry.onset)
        chosen.append(replace(entry, length=length, tied=entry.tied and length == entry.length))
        sounding.append((entry.onset, entry.onset + length))
        result.filled += 1
    chosen.sort(key=lambda entry: (entry.onset, not entry.grace))
    return chosen


def _add(entry: Entry, bar_start: Fraction, measure: str, result: _Gathered) -> None:
    start = bar_start + entry.onset
    last = result.sounds[-1] if result.sounds else None
    if not entry.pitches:
        if last is not None and entry.marks.break_after:
            _break(last, entry.marks.break_after)
        if last is not None and entry.marks.fermata:
            # A held silence: the tone itself is not longer, but the line breaks off after it.
            _break(last, "caesura")
        return
    if last is not None and last.tied and not entry.grace and _continues(last, entry, start):
        _join(last, entry, start)
        return
    marks = entry.marks
    if len(entry.pitches) > 1:
        result.chords += 1
        marks = replace(marks, chord_below=entry.pitches[1:])
    sound = _Sound(start, start + entry.length, entry.pitches, entry.grace, entry.tied, measure, marks)
    if last is not None and last.start == start and not last.grace and not entry.grace:
        _stack(last, sound, result)
        return
    result.sounds.append(sound)


def _continues(last: _Sound, entry: Entry, start: Fraction) -> bool:
    """Whether a tie from `last` reaches this note: the same place on the staff, and no time between."""
    top, other = last.pitches[0], entry.pitches[0]
    return last.end == start and (top.midi == other.midi or top.height == other.height)


def _join(last: _Sound, entry: Entry, start: Fraction) -> None:
    last.end = start + entry.length
    last.tied = entry.tied
    more = entry.marks
    last.marks = replace(
        last.marks,
        break_after=stronger(last.marks.break_after, more.break_after),
        fermata=last.marks.fermata or more.fermata,
        slur_starts=last.marks.slur_starts + more.slur_starts,
        slur_stops=last.marks.slur_stops + more.slur_stops,
        ornaments=last.marks.ornaments or more.ornaments,
        hairpin=last.marks.hairpin or more.hairpin,
    )


def _stack(last: _Sound, sound: _Sound, result: _Gathered) -> None:
    """Two notes of one voice that begin together are a chord."""
    upper, lower = (last, sound) if last.pitches[0].midi >= sound.pitches[0].midi else (sound, last)
    marks = replace(upper.marks, chord_below=(*upper.marks.chord_below, *lower.pitches))
    last.pitches, last.end, last.tied = upper.pitches, upper.end, upper.tied
    last.marks = marks
    result.chords += 1


def _trim(gathered: _Gathered) -> None:
    """End each tone where the next begins, so that one sounds at a time."""
    previous: _Sound | None = None
    for sound in gathered.sounds:
        if sound.grace:
            continue
        if previous is not None and previous.end > sound.start:
            previous.end = sound.start
            gathered.trimmed += 1
        previous = sound


def _tone(sound: _Sound, start: Fraction, page: PartPage) -> Tone:
    top = sound.pitches[0]
    marks = sound.marks
    written = None
    if page.move_steps or page.move_semitones:
        written = top
        top = top.moved(page.move_steps, page.move_semitones)
        if marks.chord_below:
            below = tuple(pitch.moved(page.move_steps, page.move_semitones) for pitch in marks.chord_below)
            marks = replace(marks, chord_below=below)
    onset = float(sound.start - start)
    # A note without any length, as some tablatures write it, takes no time just as a grace note does.
    length = 0.0 if sound.grace else max(0.0, float(sound.end - sound.start))
    return Tone(onset, length, top, length == 0.0, sound.measure, written, marks)


def _moved_fifths(fifths: int, page: PartPage) -> int:
    """The signature at sounding pitch: C moved the same way lands that many fifths from C."""
    return fifths + Pitch(0, 0, 4).moved(page.move_steps, page.move_semitones).fifths


def _meters(bars: Sequence[tuple[Fraction, Bar]], start: Fraction) -> tuple[tuple[float, Meter], ...]:
    """Each meter with its first downbeat. A short first bar is an upbeat; an unmetered stretch has no entry."""
    found: list[tuple[float, Meter]] = []
    current: tuple[int, int] | None = None
    for index, (at, bar) in enumerate(bars):
        if at + bar.length <= start and index + 1 < len(bars):
            current = bar.meter or current
            continue
        meter = bar.meter or (current if not found else None)
        current = bar.meter or current
        if not meter or meter == (0, 0):
            continue
        full = Fraction(4 * meter[0], meter[1])
        short = not found and bar.length < full and len(bars) > 1
        downbeat = at + bar.length if short or at < start else at
        at = max(at, start)
        if found and (found[-1][1].beats, found[-1][1].unit) == meter:
            continue
        found.append((float(at - start), Meter(*meter, first_downbeat=float(downbeat - start))))
    return tuple(found)


def _sentences(gathered: _Gathered, page: PartPage) -> list[str]:
    notes = []
    if gathered.chords:
        notes.append(f"{counted(gathered.chords, 'chord')} reduced to the top tone.")
    if gathered.left_out or gathered.filled:
        notes.append(
            "Several voices share the staff: the first is the line; "
            f"{counted(gathered.filled, 'tone')} of the others fill its rests, {gathered.left_out} are left out."
        )
    if gathered.trimmed:
        notes.append(f"{counted(gathered.trimmed, 'overlapping tone')} shortened: one tone at a time.")
    if page.move_steps or page.move_semitones:
        notes.append("A transposing instrument: pitches are as they sound; the written ones are kept.")
    return notes
