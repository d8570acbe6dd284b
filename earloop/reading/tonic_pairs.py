"""Cues of two pitch classes together: which are heard in the same line, and which are heard beside its ending.

One tone seldom tells a key from its relatives; two do (the augmented second of a minor key, the tritone that only one
major key has, an ending on the fifth above a raised third). Pitch classes are counted as in `tonic_evidence`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_APART = range(1, 7)
_ABOVE = range(1, 12)
PAIRS = (*(f"pair_{size}" for size in _APART), *(f"ending_with_{size}" for size in _ABOVE))
"""Rows: `pair_K`, how much a pitch class and the one K semitones above it are both heard, at the lower of the two;
`ending_with_K`, at the last tone, how much the pitch class K semitones above it is heard."""


def pairs(heard: Floats, ends: Ints) -> Floats:
    """The rows of `PAIRS`: shape (spans, 17, 12).

    `heard` is near 1 for each pitch class that a span has, shape (spans, 12); `ends` is each span's last pitch class.
    """
    every = np.arange(len(ends))
    both = [heard * np.roll(heard, -size, axis=1) for size in _APART]
    beside = np.zeros((len(ends), len(_ABOVE), 12))
    for row, size in enumerate(_ABOVE):
        beside[every, row, ends] = heard[every, (ends + size) % 12]
    return np.concatenate([np.stack(both, axis=1), beside], axis=1)
