"""What in a line speaks for a tonic: ten pictures of it, each twelve numbers by pitch class.

All are counted upwards in semitones from the line's last tone, so that a transposed line gives the very same numbers.
The row names are `CUES`; `tonic_profiles` says how much each speaks for a tonic at each degree.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns

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


def evidence(columns: Columns) -> Floats:
    """The cues of a line: shape (10, 12), pitch classes counted from the last tone's."""
    keys = columns.midi - columns.midi[-1]
    classes = keys % 12
    size = columns.size
    time = np.sqrt(relative_time(columns.ioi))
    weight = size / (size + _SCALE_OF_LENGTH)
    share = np.bincount(classes, weights=time, minlength=12) / time.sum()
    rows = np.zeros((len(CUES), 12))
    rows[0] = share * weight
    rows[1] = share / (share + _PRESENT)
    rows[2, 0] = weight
    moves = np.flatnonzero(np.diff(keys))
    if moves.size:
        rows[3, classes[moves[-1]]] = 1.0
        rows[5, classes[moves[0] + 1]] = 1.0
    rows[4, classes[0]] = 1.0
    rows[6, int(keys.min()) % 12] = 1.0
    rows[7:] = _arrivals(keys, classes, time)
    return rows


def relative_time(ioi: Floats) -> Floats:
    """Time to the next onset against the line's median, between a tenth of it and four times as much."""
    positive = ioi[ioi > 0]
    middle = float(np.median(positive)) if positive.size else 1.0
    return np.clip(ioi / middle, 0.1, 4.0)


def _arrivals(keys: Ints, classes: Ints, time: Floats) -> Floats:
    """The last three cues: shape (3, 12)."""
    step = np.diff(keys)
    ways = ((step == 5) | (step == -7), step == -2, step == 1)
    rows = [np.bincount(classes[1:][way], weights=time[1:][way], minlength=12) for way in ways]
    return np.asarray(rows, dtype=np.float64) / max(1, step.size)
