"""What sounds with the line in its score: the other parts, the lower tones of its chords, other voices of its staff."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass
from fractions import Fraction

from earloop.line import OtherTone, Pitch
from earloop.scores.bars import Bar, Entry, PartPage


@dataclass(slots=True)
class _Held:
    start: float
    end: float
    pitch: Pitch


@dataclass(frozen=True, slots=True)
class Order:
    """Which bars of a part are played when: each one's place in the part, and its start in quarters."""

    places: tuple[int, ...]
    starts: tuple[float, ...]
    count: int
    """Bars in the whole part."""


def played_order(whole: Sequence[Bar], played: Sequence[Bar]) -> Order:
    """The order in which the bars `played`, all of them among `whole`, follow each other."""
    place_of = {id(bar): place for place, bar in enumerate(whole)}
    starts = [Fraction(0)]
    for bar in played:
        starts.append(starts[-1] + bar.length)
    return Order(tuple(place_of[id(bar)] for bar in played), tuple(map(float, starts[:-1])), len(whole))


def sounding_with(
    page: PartPage, others: Sequence[PartPage], order: Order, own: Set[tuple[float, int]], line_start: float
) -> tuple[OtherTone, ...]:
    """Every tone of the line's `page` and the `others` but the line's own, by onset from `line_start`.

    `own` are the line's own tones on its page, as (start in quarters rounded by `same_onset`, written MIDI number).
    Parts are laid side by side bar by bar; one with another number of bars is left out. Grace notes take no time and
    are left out.
    """
    found: list[OtherTone] = []
    for part in (page, *others):
        if len(part.bars) != order.count:
            continue
        for held in _joined(part, order):
            if part is page and (same_onset(held.start), held.pitch.midi) in own:
                continue
            pitch = held.pitch
            if part.move_steps or part.move_semitones:
                pitch = pitch.moved(part.move_steps, part.move_semitones)
            found.append(OtherTone(held.start - line_start, held.end - held.start, pitch))
    return tuple(sorted(found, key=lambda tone: (tone.onset, tone.pitch.midi)))


def same_onset(quarters: float) -> float:
    """An onset that compares equal to itself however it was added up."""
    return round(quarters, 6)


def _joined(part: PartPage, order: Order) -> list[_Held]:
    """The part's tones in playing order, ties joined."""
    tones: list[_Held] = []
    tied: dict[int, _Held] = {}
    for place, start in zip(order.places, order.starts, strict=True):
        for entry in part.bars[place].entries:
            if entry.pitches and not entry.grace:
                _sound(entry, start + float(entry.onset), tones, tied)
    return tones


def _sound(entry: Entry, start: float, tones: list[_Held], tied: dict[int, _Held]) -> None:
    end = start + float(entry.length)
    for pitch in entry.pitches:
        held = tied.pop(pitch.midi, None)
        if held is not None and same_onset(held.end) == same_onset(start):
            held.end = end
        else:
            held = _Held(start, end, pitch)
            tones.append(held)
        if entry.tied:
            tied[pitch.midi] = held
