"""The pulse that onsets imply where the score gives no meter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Meter

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class FoundMeters:
    """The likeliest meters; for every tone which one it is in, where its first downbeat lies, and how sure."""

    meters: tuple[Meter, ...]
    which: Ints
    origin: Floats
    sure: Floats


def find_meters(columns: Columns) -> FoundMeters:
    """A measure of 4 quarters from the first onset."""
    size = columns.size
    return FoundMeters((Meter(4, 4),), np.zeros(size, dtype=np.int64), np.zeros(size), np.full(size, 0.3))
