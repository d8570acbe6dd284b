"""Each implied line as a stream of its own: which tone of the same line comes next."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.record import Voice

Ints = NDArray[np.int64]
CODES: dict[Voice, int] = {"single": 0, "upper": 1, "middle": 2, "lower": 3}
NO_TONE = -1


def stream_codes(voices: tuple[Voice, ...]) -> Ints:
    """One number a tone: 0 single, 1 upper, 2 middle, 3 lower."""
    return np.array([CODES[voice] for voice in voices], dtype=np.int64)


def next_in_stream(columns: Columns, codes: Ints) -> Ints:
    """The next full tone of the same line, -1 where there is none; grace notes have none and are none.

    Where a single line splits or two lines join, the tone beside it goes on if it is a step or less away: a line
    does not end because the passage is labelled otherwise.
    """
    size = columns.size
    follows = np.full(size, NO_TONE, dtype=np.int64)
    full = np.flatnonzero(~columns.grace)
    for code in range(4):
        own = full[codes[full] == code]
        follows[own[:-1]] = own[1:]
    here, there = full[:-1], full[1:]
    seam = (codes[here] == 0) != (codes[there] == 0)
    here, there = here[seam], there[seam]
    near = np.abs(columns.height[here] - columns.height[there]) <= 1
    follows[here[near]] = there[near]
    # A single line that has split is not the one that comes back pages later.
    lost = here[~near]
    follows[lost[codes[lost] == 0]] = NO_TONE
    return follows


def step_to(follows: Ints, index: Ints) -> Ints:
    """`follows` applied to tones that may be -1."""
    return np.where(index >= 0, follows[np.maximum(index, 0)], NO_TONE)
