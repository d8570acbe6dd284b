"""The tone before and after each tone in its own line: what a figure is approached from and left to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Neighbours:
    """The tone before and after each tone in its own line and phrase (the tone itself where there is none)."""

    before: Ints
    after: Ints
    begins: Flags
    ends: Flags


def neighbours(phrase: Ints, voice: Ints, leaf: Ints) -> Neighbours:
    """Neighbours inside the same phrase and line; grace tones are passed over."""
    size = len(phrase)
    full = np.flatnonzero(leaf < 0)
    key = phrase[full] * 4 + voice[full]
    order = full[np.argsort(key, kind="stable")]
    same = np.diff(phrase[order] * 4 + voice[order]) == 0
    before, after = np.arange(size), np.arange(size)
    before[order[1:][same]] = order[:-1][same]
    after[order[:-1][same]] = order[1:][same]
    begins, ends = before == np.arange(size), after == np.arange(size)
    return Neighbours(before, after, begins, ends)
