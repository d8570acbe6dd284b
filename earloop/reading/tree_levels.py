"""From the tree to weights, and from weights to the depths of the skeleton."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading.record import DEEPEST
from earloop.reading.tree_grow import Tree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MIDDLE = 3
"""The depth that `sure` speaks of."""
SHARES = (0.75, 0.5, 0.33, 0.2, 0.1)
"""The share of tones a depth aims to keep, from depth 1 on, in a line of eighths."""


def weights_of(tree: Tree, score: Floats) -> Floats:
    """Weights 0..1 that never exceed the parent's: the height in the tree, then the preference inside a height."""
    place = np.empty(len(score))
    order = np.argsort(score, kind="stable")
    place[order] = np.arange(len(score)) / len(score)
    return (tree.height + place) / (int(tree.height.max()) + 1)


def levels_of(weight: Floats, height: Ints, ioi: Floats, keep: Ints) -> Ints:
    """The deepest skeleton of every tone. `keep` are tones that stay at DEEPEST (one a phrase at least).

    Cuts fall in the widest gap of the weights near the share a depth aims for, so that equal places fare alike.
    """
    size = len(weight)
    ranked = np.sort(weight)
    gaps = np.diff(ranked, prepend=ranked[0])
    slow = float(np.clip(1.0 - 0.25 * np.log2(max(float(np.median(ioi)), 1e-3) / 0.5), 0.55, 1.0))
    cuts = [_cut(ranked, gaps, size * (1.0 - share**slow)) for share in SHARES]
    cuts[-1] = min(cuts[-1], float(weight[keep].min()))
    for depth in range(DEEPEST - 2, -1, -1):
        cuts[depth] = min(cuts[depth], cuts[depth + 1])
    level = np.searchsorted(np.array(cuts), weight + 1e-12, side="right")
    level[height == 0] = 0
    return level.astype(np.int64)


def _cut(ranked: Floats, gaps: Floats, at: float) -> float:
    size = len(ranked)
    reach = max(1.0, 0.07 * size)
    low, high = max(0, int(at - reach)), min(size - 1, int(at + reach))
    window = np.arange(low, high + 1)
    pull = gaps[window] * (1.2 - np.abs(window - at) / reach)
    return float(ranked[window[int(np.argmax(pull))]])


def sure_of(weight: Floats, level: Ints, pulse: Floats) -> Floats:
    """The chance that a tone is rightly kept or dropped at the middle depth, from how far its weight is from the cut.

    The scale is set so that, on the whole, kept tones are right three times in four and dropped ones nine times in ten:
    what trees of this kind reach against human ones at a quarter of the tones (measured elsewhere).
    """
    kept = level >= MIDDLE
    size = len(weight)
    place = np.empty(size)
    place[np.argsort(weight, kind="stable")] = np.arange(size) / max(1, size - 1)
    away = np.abs(place - (1.0 - kept.mean()))
    chance = np.where(kept, 0.55 + 0.4 * (1 - np.exp(-away / 0.15)), 0.6 + 0.37 * (1 - np.exp(-away / 0.12)))
    return np.asarray(0.5 + (chance - 0.5) * (0.7 + 0.3 * pulse))
