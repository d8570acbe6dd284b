"""Motives that do not keep to the line's groups: runs of tones that answer an earlier run wherever it starts.

A seed of a few tones with the shape of an earlier seed is grown to the right as far as the likeness goes; the run's
tones are then spent. Every tone is passed once, so the cost is linear but for sorting the seeds.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from earloop.reading.motive_shapes import Hashes, Ints, Shapes
from earloop.reading.motive_units import Found
from earloop.reading.record import Treatment

Flags = NDArray[np.bool_]
SEEDS = (8, 6, 5, 4)
"""Seeds in tones, the longest first: a long likeness is no chance."""
EVEN = 5
"""A run of even tones must have this many; one that also goes all one way, one more."""


def runs(shapes: Shapes, free: Flags) -> Iterator[Found]:
    """Runs over `free` tones (one flag a full tone) that answer an earlier run, in order, none overlapping."""
    size = len(shapes.tones)
    if size < 2 * SEEDS[-1]:
        return
    columns = [_partners(shapes, seed) for seed in SEEDS if size >= 2 * seed]
    if size >= 2 * SEEDS[-2]:
        columns += _mirrored(shapes, SEEDS[-2])
    any_partner = (np.array(columns) >= 0).any(axis=0)
    chances = np.flatnonzero(any_partner & free).tolist()
    table = [column.tolist() for column in columns]
    straight, mirrored = (table[:-2], table[-2:]) if size >= 2 * SEEDS[-2] else (table, [])
    steps, ioi, unspent = np.diff(shapes.height).tolist(), shapes.times, free.tolist()
    passed = 0
    for there in chances:
        if there < passed:
            continue
        found = _forward(shapes, steps, ioi, unspent, straight, there)
        if not found and mirrored:
            found = _mirror(shapes, steps, ioi, unspent, mirrored, there)
        if found:
            yield found
            passed = found.place[1] + 1


def _partners(shapes: Shapes, seed: int) -> Ints:
    """For every tone the first earlier tone whose seed has the same shape and ends before it, else -1."""
    first = np.arange(len(shapes.tones) - seed + 1)
    keys = shapes.same_way(first, first + seed - 1)
    return _earliest(keys, keys, seed)


def _mirrored(shapes: Shapes, seed: int) -> list[Ints]:
    first = np.arange(len(shapes.tones) - seed + 1)
    last = first + seed - 1
    return [
        _earliest(shapes.turned_over(first, last), shapes.same_way(first, last), seed),
        _earliest(shapes.backwards(first, last), shapes.with_last_length(first, last), seed),
    ]


def _earliest(models: Hashes, answers: Hashes, seed: int) -> Ints:
    values, where = np.unique(models, return_index=True)
    at = np.minimum(np.searchsorted(values, answers), len(values) - 1)
    partner = np.where(values[at] == answers, where[at], -1)
    partner[partner + seed > np.arange(len(answers))] = -1
    return np.append(partner, np.full(seed - 1, -1))


def _forward(
    shapes: Shapes, steps: list[int], ioi: list[float], free: list[bool], partners: list[list[int]], there: int
) -> Found | None:
    for column in partners:
        if column[there] >= 0:
            model = column[there]
            speed = ioi[there] / ioi[model]
            end, size = there, len(ioi)
            while (
                end + 1 < size
                and free[end + 1]
                and model + end + 1 - there < there
                and steps[end] == steps[model + end - there]
                and abs(ioi[end] / ioi[model + end - there] / speed - 1) < 0.03
            ):
                end += 1
            if _says_something(steps, ioi, there, end):
                shift = shapes.heights[there] - shapes.heights[model]
                return Found((there, end), (model, model + end - there), _treatment(speed, shift), shift)
    return None


def _mirror(
    shapes: Shapes, steps: list[int], ioi: list[float], free: list[bool], mirrored: list[list[int]], there: int
) -> Found | None:
    size = len(ioi)
    over = mirrored[0][there]
    if over >= 0:
        end = there
        while (
            end + 1 < size
            and free[end + 1]
            and over + end + 1 - there < there
            and steps[end] == -steps[over + end - there]
            and abs(ioi[end] / ioi[over + end - there] - 1) < 0.03
        ):
            end += 1
        if _says_something(steps, ioi, there, end, one_more=1):
            shift = shapes.heights[there] - shapes.heights[over]
            return Found((there, end), (over, over + end - there), "inverted", shift)
    back = mirrored[1][there]
    if back >= 0:
        return _backwards(shapes, steps, ioi, free, there, back)
    return None


def _backwards(
    shapes: Shapes, steps: list[int], ioi: list[float], free: list[bool], there: int, back: int
) -> Found | None:
    """Grown on both sides of the seed's model: as the answer goes on, the model goes back."""
    length = shapes.lengths
    last = back + SEEDS[-2] - 1
    end = there
    while (
        end + 1 < len(ioi)
        and free[end + 1]
        and last - (end - there) - 1 >= 0
        and steps[end] == -steps[last - (end - there) - 1]
        and abs(length[end + 1] / length[last - (end - there) - 1] - length[end] / length[last - (end - there)]) < 0.03
    ):
        end += 1
    start = last - (end - there)
    if not _says_something(steps, ioi, there, end, one_more=1):
        return None
    return Found((there, end), (start, last), "retrograde", shapes.heights[end] - shapes.heights[start])


def _treatment(speed: float, shift: int) -> Treatment:
    if speed > 1.03:
        return "augmented"
    if speed < 0.97:
        return "diminished"
    return "transposed" if shift else "repeated"


def _says_something(steps: list[int], ioi: list[float], first: int, last: int, one_more: int = 0) -> bool:
    """Whether a run is more than the small change of every melody. Lengths by judgement, no source."""
    size = last - first + 1
    own, times = steps[first:last], ioi[first:last]
    need = SEEDS[-1] + one_more
    if max(times, default=0) <= 1.03 * min(times, default=0):
        need = EVEN + one_more
        if all(step == own[0] for step in own):
            need += 1
    return size >= need and any(own)
