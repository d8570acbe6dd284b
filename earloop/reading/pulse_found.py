"""The pulse that onsets imply where the score gives no meter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FoundPulse:
    """Beat lengths (rows of six, finest first), first downbeat and how sure, one value a tone."""

    periods: Floats
    origin: Floats
    sure: Floats


def infer_ladder(columns: Columns) -> FoundPulse:
    """A measure of 4 quarters from the first onset."""
    size = columns.size
    periods = np.tile(np.array([0.125, 0.25, 0.5, 1.0, 2.0, 4.0]), (size, 1))
    return FoundPulse(periods, np.zeros(size), np.full(size, 0.3))
