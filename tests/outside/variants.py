"""Truth for what decorates what: the plainer and the more ornamented form of one tune, side by side.

Where one form of a tune has a single tone and another form, at the same place of the same measure, has several with
that tone among them, whoever sang or wrote the plainer form kept that tone and left the others out: it stands for the
stretch, and they decorate it (division practice since Ortiz 1553; a time-span's head in Lerdahl & Jackendoff 1983).
Forms are sought in one piece that comes back to a measure with more or fewer tones, and between pieces on one tune.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from earloop.line import Line
from earloop.reading.pulse_ladder import counted_beat
from earloop.scores.align import align

TICKS = 48
"""Ticks a quarter."""
ALIKE = 0.75
"""Measures agree that have the same tones in this share of their time."""
_NEAR, _FAR = 3, 4
"""Measures around the two compared that must agree, at least one on each side; as many as are looked at on a side."""
_GRAM = 8
_SHARED_GRAMS = 4
_COMMON = 25
"""Beat-by-beat turns that more lines than this have are formulas and no sign of one tune."""


@dataclass(frozen=True)
class Stretch:
    """The time of one plain tone in the ornamented line: `heads` has its pitch there, `others` decorate it.

    More than one head means that the pitch comes back inside the stretch. `share` is the stretch's share of a measure.
    """

    heads: tuple[int, ...]
    others: tuple[int, ...]
    share: float


@dataclass
class Ornamented:
    """A line of which plainer measures are known, and the stretches they tell."""

    name: str
    line: Line
    stretches: list[Stretch] = field(default_factory=list)


@dataclass(frozen=True)
class _Bar:
    """One measure: onset in ticks, MIDI key, ticks to the next onset or the bar line, and index, of each tone."""

    tones: tuple[tuple[int, int, int, int], ...]
    size: int

    def places(self) -> frozenset[int]:
        return frozenset(t[0] for t in self.tones)


def title_of(line: Line) -> str:
    """The title's first letters, so that one tune in two books falls into one half."""
    return re.sub("[^a-z]", "", (line.title or line.source).lower())[:14]


def part_of(name: str) -> int:
    """0 or 1: the half a piece falls into, by its name."""
    return hashlib.md5(name.encode()).digest()[0] % 2


def bars_of(line: Line) -> dict[int, _Bar]:
    """Measures by number, of a line in one meter; grace notes are left out."""
    meter = line.meters[0][1]
    size = round(meter.measure_length * TICKS)
    rows: dict[int, list[tuple[int, int, int, int]]] = defaultdict(list)
    full = [i for i in range(len(line)) if not line[i].grace]
    ticks = [round((line[i].onset - meter.first_downbeat) * TICKS) for i in full]
    ends = [*ticks[1:], ticks[-1] + round(line[full[-1]].length * TICKS)] if full else []
    for i, tick, end in zip(full, ticks, ends, strict=True):
        bar, place = divmod(tick, size)
        rows[bar].append((place, line[i].midi, min(end - tick, size - place), i))
    return {bar: _Bar(tuple(tones), size) for bar, tones in rows.items()}


def within(name: str, line: Line) -> Ornamented:
    """What the piece tells of itself: measures that come back with more tones."""
    bars = bars_of(line)
    found = Ornamented(name, line)
    for j, rich in bars.items():
        best = max(
            (
                (_context(bars, bars, i, j, 0), -len(plain.tones), i)
                for i, plain in bars.items()
                if _may(plain, rich, 0)
            ),
            default=None,
        )
        if best is not None and best[0] >= _NEAR:
            found.stretches += _stretches(bars[best[2]], rich, 0)
    return found


def between(name: str, plain: Line, rich: Line) -> Ornamented:
    """What the plainer measures of one line tell of another line on the same tune."""
    old, new = bars_of(plain), bars_of(rich)
    found = Ornamented(name, rich)
    placed = align(plain, rich)
    moves: dict[int, Counter[int]] = defaultdict(Counter)
    number = {t[3]: bar for bar, row in new.items() for t in row.tones}
    for bar, row in old.items():
        for *_, index in row.tones:
            place = placed.places[index]
            if place in number:
                moves[bar][number[place]] += 1
    for bar, votes in moves.items():
        other, count = votes.most_common(1)[0]
        if count * 2 < len(old[bar].tones) or not _may(old[bar], new[other], placed.semitones):
            continue
        if _context(old, new, bar, other, placed.semitones) >= _NEAR:
            found.stretches += _stretches(old[bar], new[other], placed.semitones)
    return found


def _may(plain: _Bar, rich: _Bar, up: int) -> bool:
    """Whether the richer measure ornaments the plainer one: each plain tone's pitch sounds in that tone's time."""
    if len(plain.tones) >= len(rich.tones) or plain.size != rich.size or not plain.places() <= rich.places():
        return False
    return all(
        any(p <= q < p + length and m == midi + up for q, m, *_ in rich.tones) for p, midi, length, _ in plain.tones
    )


def _agreement(one: _Bar | None, other: _Bar | None, up: int) -> float:
    """The share of time in which the measures have the same tones, each in the other's time."""
    if one is None or other is None or one.size != other.size:
        return -1.0
    few, many, move = (one, other, up) if len(one.tones) <= len(other.tones) else (other, one, -up)
    same = sum(
        length
        for p, midi, length, _ in few.tones
        if any(q == p for q, *_ in many.tones)
        and any(p <= q < p + length and m == midi + move for q, m, *_ in many.tones)
    )
    return same / few.size


def _context(old: dict[int, _Bar], new: dict[int, _Bar], i: int, j: int, up: int) -> int:
    """How many measures in a row agree on both sides of the two; 0 where one side doesn't."""
    if old is new and i == j:
        return 0
    sides = [_run(old, new, i, j, way, up) for way in (-1, 1)]
    return sum(sides) if min(sides) else 0


def _run(old: dict[int, _Bar], new: dict[int, _Bar], i: int, j: int, way: int, up: int) -> int:
    count = 0
    while count < _FAR and _agreement(old.get(i + way), new.get(j + way), up) >= ALIKE:
        count, i, j = count + 1, i + way, j + way
    return count


def _stretches(plain: _Bar, rich: _Bar, up: int) -> Iterator[Stretch]:
    for p, midi, length, _ in plain.tones:
        inside = [(m, index) for q, m, _, index in rich.tones if p <= q < p + length]
        heads = tuple(index for m, index in inside if m == midi + up)
        others = tuple(index for m, index in inside if m != midi + up)
        if heads and others:
            yield Stretch(heads, others, length / plain.size)


def same_tunes(lines: Sequence[Line]) -> Iterator[tuple[int, int]]:
    """Pairs of lines (by number) that share enough of their course from beat to beat, wherever they lie."""
    where: dict[tuple[int, ...], set[int]] = defaultdict(set)
    for number, line in enumerate(lines):
        for gram in _grams(line):
            where[gram].add(number)
    shared: Counter[tuple[int, int]] = Counter()
    for numbers in where.values():
        if 1 < len(numbers) <= _COMMON:
            ordered = sorted(numbers)
            shared.update((a, b) for k, a in enumerate(ordered) for b in ordered[k + 1 :])
    yield from sorted(pair for pair, count in shared.items() if count >= _SHARED_GRAMS)


def _grams(line: Line) -> Iterable[tuple[int, ...]]:
    """Runs of eight moves from beat to beat that hold at least four different ones."""
    meter = line.meters[0][1]
    columns = line.columns
    beats = np.arange(meter.first_downbeat, line.end - 1e-6, counted_beat(meter))
    sounding = columns.midi[np.maximum(np.searchsorted(columns.onset, beats + 1e-6, side="right") - 1, 0)]
    steps = np.diff(sounding).tolist()
    rows = (tuple(steps[k : k + _GRAM]) for k in range(len(steps) - _GRAM + 1))
    return {row for row in rows if len(set(row)) >= 4}
