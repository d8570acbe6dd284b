"""Where a gesture is said again at once, at the same or another pitch: its statements divide the line.

Parallel passages form parallel groups (Lerdahl & Jackendoff 1983, grouping preference rule 6). Statements are compared
by the size of their steps (second, third …, so that a tonal sequence counts) and by their times; the last tone's time
is free, and so is the step from one statement to the next. Where a likeness could be cut at several places it is cut
where most else speaks for it: at a phrase's start, after a long tone, at a leap.
"""

from __future__ import annotations

import numpy as np

from earloop.line import Columns
from earloop.line.line import Flags, Floats, Ints
from earloop.reading.phrase_parallels import alphabets, runs

SIZES = range(7, 2, -1)
"""Tones of a statement, the longest tried first."""
ENDS, INSIDE = 3.2, -1.0
"""What speaks for an end between statements, and against one inside them, in the units of the gestures' scores."""
_AT_FIXED = 6.0
"""How much more than elsewhere speaks for statements that begin or end where a phrase does."""
_STEPS = np.array([0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6, 7])
"""Letters that so many semitones span in most scales; the tritone counts as a fourth."""


def statement_scores(columns: Columns, base: Floats, fixed: Ints) -> Floats:
    """For each tone what statements say about a gesture's end on it.

    `base` is what all else says; `fixed` are the ends that stand already (phrases): no statement runs across one.
    """
    size = columns.size
    time, _, _ = alphabets(columns)
    onward = np.append(_sizes(columns.interval)[1:], 0)
    group = np.searchsorted(fixed, np.arange(size), side="left")
    ends = np.append(0.0, base)
    ends[np.append(0, fixed + 1)] += _AT_FIXED
    tile = np.zeros(size, dtype=np.int64)
    taken = np.zeros(size, dtype=bool)
    for length in SIZES:
        if size >= 2 * length:
            again = _said_again(time, onward, group, length)
            _lay(tile, taken, again, ends, length)
    return _score(tile)


def _sizes(interval: Ints) -> Ints:
    octaves, rest = np.divmod(np.abs(interval), 12)
    return np.asarray(np.sign(interval) * (7 * octaves + _STEPS[rest]), dtype=np.int64)


def _said_again(time: Ints, onward: Ints, group: Ints, length: int) -> Flags:
    """Whether the `length` tones from each tone on are a statement that the next ones say again."""
    here = np.arange(len(time) - 2 * length + 1)
    shape = runs(time * 64 + onward + 31, length - 1)
    again: Flags = shape[here] == shape[here + length]
    again &= (group[here] == group[here + length - 1]) & (group[here + length] == group[here + 2 * length - 1])
    if length >= 6 and length % 2 == 0:
        # Two halves alike are statements of their own.
        half = runs(time * 64 + onward + 31, length // 2 - 1)
        again &= half[here] != half[here + length // 2]
    found = np.flatnonzero(again)
    again[found] &= _telling(time, onward, found, length)
    return again


def _telling(time: Ints, onward: Ints, here: Ints, length: int) -> Flags:
    """Whether a statement has a shape of its own: it moves, and turns or changes its time."""
    inner = here[:, None] + np.arange(length)
    moves, times = onward[inner[:, :-1]], time[inner]
    uneven = (times != times[:, :1]).any(axis=1)
    turning = (np.sign(moves) != np.sign(moves[:, :1])).any(axis=1)
    return np.asarray((moves != 0).any(axis=1) & (uneven | turning))


def _lay(tile: Ints, taken: Flags, again: Flags, ends: Floats, length: int) -> None:
    """Lay the statements of each run of likeness side by side; `tile` gets their size at their first tones."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], again.view(np.int8), [0]))))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        phases = [np.arange(start + k, stop + length, length) for k in range(min(length, stop - start))]
        best = max(phases, key=lambda firsts: float(ends[np.append(firsts, firsts[-1] + length)].mean()))
        last = int(best[-1]) + length - 1
        if not taken[best[0] : last + 1].any():
            tile[best] = length
            taken[best[0] : last + 1] = True


def _score(tile: Ints) -> Floats:
    """Ends around each statement, and what speaks against an end inside."""
    score = np.zeros(len(tile))
    ends = np.zeros(len(tile), dtype=bool)
    for first in np.flatnonzero(tile).tolist():
        last = first + int(tile[first]) - 1
        score[first:last] = INSIDE
        ends[last] = True
        if first:
            ends[first - 1] = True
    return np.where(ends, ENDS, score)
