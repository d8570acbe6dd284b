"""Ticks → exact fractions of a quarter, beat by beat."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

_GRIDS = (1, 2, 3, 4, 6, 8, 12, 5, 16, 7, 10, 9, 24, 32)
"""Divisions of a quarter that music is written in, simplest first."""
_END_GRIDS = (1, 2, 3, 4, 6, 8, 12)
_PLAYED_GRIDS = (1, 2, 3, 4, 6, 8)
_FALLBACK = 24


class Ticks(NamedTuple):
    """A note in ticks: start, end, MIDI key."""

    start: int
    end: int
    key: int


def on_grid(notes: Sequence[Ticks], division: float) -> tuple[list[tuple[Fraction, Fraction, int]], bool]:
    """(start, end, key) in quarters, in order; True where notes had to be moved by more than a tick or two."""
    starts, moved = _snapped({note.start for note in notes}, division, _GRIDS)
    ends, _ = _snapped({note.end for note in notes}, division, _END_GRIDS)
    onsets = sorted(starts)
    following = dict(pairwise(onsets))
    result = []
    for note in notes:
        start, after = starts[note.start], following.get(note.start)
        next_start = None if after is None else starts[after]
        end = starts.get(note.end) or _end(note, start, ends[note.end], next_start, division, moved)
        if next_start is not None and end <= start < next_start:
            end = min(start + Fraction(1, 8), next_start)
        elif end <= start:
            end = start + Fraction(1, 8)
        result.append((start, end, note.key))
    result.sort(key=lambda item: (item[0], -item[2]))
    return result, moved


def _end(
    note: Ticks, start: Fraction, end: Fraction, next_start: Fraction | None, division: float, played: bool
) -> Fraction:
    """The written end. Exports and players let go early: an end off the simple grids is filled up.

    It lasts to the next eighth after its start, or to the next onset where that is nearer or nearly reached.
    """
    if not played and abs(float(end) - note.end / division) <= 1.5 / division:
        return end
    sounding = Fraction(note.end - note.start) / Fraction(division)
    filled = Fraction(-int(-sounding * 2 // 1), 2)
    if next_start is not None and sounding < next_start - start <= max(filled, sounding * 5 / 4):
        return next_start
    return start + filled


def _snapped(ticks: Iterable[int], division: float, grids: Sequence[int]) -> tuple[dict[int, Fraction], bool]:
    """Each tick's place in quarters; True where any beat needed more than a tick or two of rounding."""
    beats: dict[int, list[int]] = defaultdict(list)
    near = 1.5 / division
    for tick in ticks:
        beats[int(tick / division + near)].append(tick)
    places: dict[int, Fraction] = {}
    moved = False
    for beat, members in beats.items():
        grid, exact = _grid([tick / division - beat for tick in members], near, grids)
        moved = moved or not exact
        for tick in members:
            places[tick] = beat + Fraction(round((tick / division - beat) * grid), grid)
    return places, moved


def _grid(offsets: Sequence[float], near: float, grids: Sequence[int]) -> tuple[int, bool]:
    """The coarsest division these places in a beat fit, and whether they fit exactly."""
    for grid in grids:
        if all(abs(offset * grid - round(offset * grid)) <= near * grid for offset in offsets):
            return grid, True
    for tolerance in (0.03, 0.06):
        for grid in _PLAYED_GRIDS:
            if all(abs(offset - round(offset * grid) / grid) <= tolerance for offset in offsets):
                return grid, False
    return _FALLBACK, False
