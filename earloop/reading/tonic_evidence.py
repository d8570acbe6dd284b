"""What in a line or a part of it speaks for a tonic: ten pictures of it, each twelve numbers by pitch class.

All are counted upwards in semitones from the line's last tone, so that a transposed line gives the very same numbers.
The row names are `CUES`; `tonic_profiles` says how much each speaks for a tonic at each degree.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Span

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CUES = ("time", "heard", "last", "before_last", "first", "second", "lowest", "fourth", "step_down", "leading")
"""Rows of the evidence:

- `time`: the share of the line's time each pitch class takes, lengths compressed by their square root; it counts for
  more in a longer line.
- `heard`: near 1 for a pitch class that is there at all, 0 for one that is missing.
- `last`, `before_last`, `first`, `second`: 1 at the pitch class of that tone, repeats of a tone taken as one; `last`
  counts for more in a longer line, since a lone phrase often ends elsewhere than at home.
- `lowest`: 1 at the pitch class of the lowest tone (authentic and plagal ranges).
- `fourth`, `step_down`, `leading`: how much of the line arrives on the pitch class by a rising fourth or falling
  fifth (5-1), by a falling whole tone (2-1), by a rising semitone (7-1).
"""
_SCALE_OF_LENGTH = 16.0
"""Tones after which a line counts half as much as a very long one."""
_PRESENT = 0.04
"""Share of time at which a pitch class is half present."""


def evidence(columns: Columns, spans: tuple[Span, ...]) -> Floats:
    """The cues of each of the spans that the line is cut into: shape (spans, 10, 12).

    Pitch classes are counted from the whole line's last tone. Time is linear in the tones.
    """
    keys = columns.midi - columns.midi[-1]
    classes = keys % 12
    firsts, lasts = np.array([(span.first, span.last) for span in spans]).T
    sizes = lasts - firsts + 1
    which = np.repeat(np.arange(len(spans)), sizes)
    rows = np.zeros((len(spans), len(CUES), 12))
    time = np.sqrt(relative_time(columns.ioi))
    share = by_class(which, classes, time, len(spans))
    share /= share.sum(axis=1, keepdims=True)
    weight = sizes / (sizes + _SCALE_OF_LENGTH)
    rows[:, 0] = share * weight[:, None]
    rows[:, 1] = share / (share + _PRESENT)
    every = np.arange(len(spans))
    rows[every, 2, classes[lasts]] = weight
    rows[every, 4, classes[firsts]] = 1.0
    rows[every, 6, np.minimum.reduceat(keys, firsts) % 12] = 1.0
    index = np.arange(columns.size)
    step = np.append(0, np.diff(keys))
    step[firsts] = 0
    first_move = np.minimum.reduceat(np.where(step != 0, index, columns.size), firsts)
    last_move = np.maximum.reduceat(np.where(step != 0, index, -1), firsts)
    moving = np.flatnonzero(last_move >= 0)
    rows[moving, 3, classes[last_move[moving] - 1]] = 1.0
    rows[moving, 5, classes[first_move[moving]]] = 1.0
    for row, way in enumerate(((step == 5) | (step == -7), step == -2, step == 1), start=7):
        rows[:, row] = by_class(which, classes, time * way, len(spans)) / np.maximum(1, sizes - 1)[:, None]
    return rows


def by_class(which: Ints, classes: Ints, weights: Floats, count: int) -> Floats:
    """Sums of weights by span and pitch class: shape (count, 12)."""
    sums = np.bincount(which * 12 + classes, weights=weights, minlength=12 * count)
    return np.asarray(sums, dtype=np.float64).reshape(count, 12)


def key_scores(shown: Floats, profiles: Floats) -> Floats:
    """Cues (spans, cues, 12) times profiles (2, cues, 12) with every pitch class as tonic: shape (spans, 2, 12)."""
    above = (np.arange(12)[None, :] - np.arange(12)[:, None]) % 12
    turned = profiles[:, :, above].transpose(1, 3, 0, 2)
    scores = shown.reshape(len(shown), -1) @ turned.reshape(-1, 24)
    return np.asarray(scores, dtype=np.float64).reshape(-1, 2, 12)


def relative_time(ioi: Floats) -> Floats:
    """Time to the next onset against the line's median, between a tenth of it and four times as much."""
    positive = ioi[ioi > 0]
    middle = float(np.median(positive)) if positive.size else 1.0
    return np.clip(ioi / middle, 0.1, 4.0)
