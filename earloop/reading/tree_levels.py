"""From the tree to weights, and from weights to the depths of the skeleton."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading.record import DEEPEST
from earloop.reading.tree_grow import Groups, Tree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SURE_BETTER = 0.9
"""How far a difference in preference counts towards being right."""
SHARES = (0.75, 0.5, 0.33, 0.2, 0.1)
"""The share of tones a depth aims to keep, from depth 1 on, in a line of eighths."""


def weights_of(tree: Tree, across: Floats) -> Floats:
    """Weights 0..1 that never exceed the parent's: the height in the tree, then `across` inside a height."""
    return (tree.height + shares_below(across)) / (int(tree.height.max()) + 1)


def shares_below(values: Floats) -> Floats:
    """For each value the share of all that are less (of equals, that come earlier)."""
    below = np.empty(len(values))
    below[np.argsort(values, kind="stable")] = np.arange(len(values)) / len(values)
    return below


def reaches_of(tree: Tree, reach: Floats) -> Floats:
    """Weights 0..1 by how far each tone is likely to reach; none further than the tone it hangs on."""
    order = np.argsort(reach, kind="stable")
    out = np.empty(len(reach))
    out[order] = np.arange(1, len(reach) + 1)
    step = 1.0 / (int(tree.height.max()) + 2)
    for height in range(int(tree.height.max()), -1, -1):
        lost = np.flatnonzero((tree.height == height) & (tree.parent >= 0))
        out[lost] = np.minimum(out[lost], out[tree.parent[lost]] - step)
    return out / (len(reach) + 1)


def heard_as_one(tree: Tree, weight: Floats) -> Floats:
    """`weight` by ranks, 0..1, made to fit the tree: a tone on which a heavier one hangs weighs a little more than it.

    Where lines run on their own in the tree, `weight` says how they weigh together.
    """
    size, top = len(weight), int(tree.height.max())
    out = np.empty(size)
    out[np.argsort(weight, kind="stable")] = np.arange(1, size + 1)
    step = 1.0 / (top + 2)
    for height in range(top + 1):
        lost = np.flatnonzero((tree.height == height) & (tree.parent >= 0))
        np.maximum.at(out, tree.parent[lost], out[lost] + step)
    return out / (size + 1)


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


def with_spoken_alone(level: Ints, groups: Groups, parent: Ints) -> Ints:
    """`level` where a line's tone between two tones of another line of its phrase is in the first skeleton at least.

    An ornament stays beside the tone it decorates; what comes alone in its turn is its line's own step (Bregman 1990 on
    what binds; common practice, no source for the depth). What such a tone hangs on is never less deep.
    """
    voice, phrase = groups.voice, groups.phrase
    other = (voice[1:] != voice[:-1]) & (phrase[1:] == phrase[:-1]) & (voice[1:] > 0) & (voice[:-1] > 0)
    alone = np.zeros(len(level), dtype=bool)
    alone[1:-1] = other[1:] & other[:-1]
    out = np.where(alone & (groups.leaf < 0), np.maximum(level, 1), level)
    while True:
        lifted = np.flatnonzero((out > 0) & (parent >= 0))
        short = parent[lifted][out[parent[lifted]] == 0]
        if not len(short):
            return out
        out[short] = 1


def _cut(ranked: Floats, gaps: Floats, at: float) -> float:
    size = len(ranked)
    reach = max(1.0, 0.07 * size)
    low, high = max(0, int(at - reach)), min(size - 1, int(at + reach))
    window = np.arange(low, high + 1)
    pull = gaps[window] * (1.2 - np.abs(window - at) / reach)
    return float(ranked[window[int(np.argmax(pull))]])


def sure_of(preference: Floats, parent: Ints) -> Floats:
    """The chance that a tone is rightly said to hang on its parent and not the parent on it.

    From how much better the parent can head a span, in log-odds. Trees read by hand, left out of the fit, want a slope
    of 1.1, plainer and more ornamented forms one of .65; this is between.
    """
    better = np.where(parent >= 0, preference[parent] - preference, 0.0)
    odds = SURE_BETTER * np.clip(better, -1.0, 4.0)
    return np.asarray(np.clip(1.0 / (1.0 + np.exp(-odds)), 0.5, 0.99))
