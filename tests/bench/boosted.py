"""Boosted decision trees in numpy: how much a table of cues can tell at all, as a limit to measure a plain reader by.

Friedman 2001, "Greedy function approximation: a gradient boosting machine", for the logistic loss, with the leaves by
Newton's step (Chen & Guestrin 2016). The truth may be a chance between 0 and 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TREES, DEPTH, PACE, PULL, FEWEST, BINS = 120, 3, 0.06, 5.0, 20.0, 24


@dataclass(frozen=True)
class Boosted:
    """The trees over binned cues; `cuts` are each cue's bin edges. A tree is its splits by node and its leaves."""

    cuts: list[Floats]
    none: float
    trees: list[tuple[Ints, Ints, Floats]]

    def odds(self, cues: Floats) -> Floats:
        """Log-odds of each row."""
        binned = _binned(cues, self.cuts)
        return np.asarray(self.none + sum(leaf[_leaf_of(binned, which, cut)] for which, cut, leaf in self.trees))


def boost(cues: Floats, chance: Floats, weight: Floats) -> Boosted:
    """Trees that tell `chance` (0..1 a row) from `cues` (rows x cues)."""
    cuts = [np.unique(np.quantile(column, np.linspace(0, 1, BINS + 1)[1:-1])) for column in cues.T]
    binned = _binned(cues, cuts)
    mean = float(np.average(chance, weights=weight))
    none = float(np.log(mean / (1 - mean)))
    odds = np.full(len(cues), none)
    trees = []
    for _ in range(TREES):
        told = 1 / (1 + np.exp(-odds))
        tree = _tree(binned, weight * (chance - told), weight * told * (1 - told), weight)
        odds += tree[2][_leaf_of(binned, tree[0], tree[1])]
        trees.append(tree)
    return Boosted(cuts, none, trees)


def _binned(cues: Floats, cuts: list[Floats]) -> Ints:
    columns = [np.searchsorted(cut, column, side="left") for column, cut in zip(cues.T, cuts, strict=True)]
    return np.column_stack(columns).astype(np.int64)


def _leaf_of(binned: Ints, which: Ints, cut: Ints) -> Ints:
    """Nodes are numbered as in a heap; left is not above the cut."""
    node = np.zeros(len(binned), dtype=np.int64)
    for _ in range(DEPTH):
        node = 2 * node + 1 + (binned[np.arange(len(binned)), which[node]] > cut[node])
    return node - (2**DEPTH - 1)


def _tree(binned: Ints, slope: Floats, bend: Floats, weight: Floats) -> tuple[Ints, Ints, Floats]:
    inner = 2**DEPTH - 1
    which, cut = np.zeros(inner, dtype=np.int64), np.full(inner, BINS, dtype=np.int64)
    node = np.zeros(len(binned), dtype=np.int64)
    for at in range(inner):
        here = np.flatnonzero(node == at)
        which[at], cut[at] = _split(binned[here], slope[here], bend[here], weight[here])
        node[here] = 2 * at + 1 + (binned[here, which[at]] > cut[at])
    leaf = node - inner
    down, up = (np.bincount(leaf, weights=part, minlength=2**DEPTH) for part in (bend, slope))
    return which, cut, PACE * up / (down + PULL)


def _split(binned: Ints, slope: Floats, bend: Floats, weight: Floats) -> tuple[int, int]:
    """The cue and the cut that gain most; a cut beyond the last bin where none gains."""
    best, found = 1e-9, (0, BINS)
    whole = slope.sum() ** 2 / (bend.sum() + PULL)
    for k in range(binned.shape[1]):
        up, down, heavy = (
            np.cumsum(np.bincount(binned[:, k], weights=part, minlength=BINS)) for part in (slope, bend, weight)
        )
        gain = up**2 / (down + PULL) + (up[-1] - up) ** 2 / (down[-1] - down + PULL) - whole
        gain[(heavy < FEWEST) | (heavy[-1] - heavy < FEWEST)] = 0.0
        if gain.max() > best:
            best, found = float(gain.max()), (k, int(gain.argmax()))
    return found
