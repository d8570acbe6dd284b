"""Grow the tree: in every time-span the preferred tone survives and becomes the parent of the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass
class Tree:
    """`parent` (-1 for the root) and `height`, the level of span at which a tone gives way to its parent."""

    parent: Ints
    height: Ints


@dataclass(frozen=True)
class Groups:
    """Where each tone is: its phrase and its line, both counted from 0; `leaf` names a grace tone's host, else -1."""

    phrase: Ints
    voice: Ints
    leaf: Ints

    @property
    def lines(self) -> Ints:
        """One number for each line of each phrase."""
        return self.phrase * (int(self.voice.max()) + 1) + self.voice


def grow(score: Floats, wide: Floats, beats: list[Ints], measures: list[Ints], groups: Groups, goal: Flags) -> Tree:
    """The tree over the line.

    `beats` and `measures` are span numbers a tone up to the measure and above it, finest first; `score` decides among
    the former, `wide` among the latter. `goal` marks the tones that stay until their phrase is whole. Lines run on
    their own and join once a phrase is whole; phrases join in pairs, and the last one's pillar is the root.
    """
    size = len(score)
    tree = Tree(np.full(size, -1, dtype=np.int64), np.zeros(size, dtype=np.int64))
    tree.parent[groups.leaf >= 0] = groups.leaf[groups.leaf >= 0]
    alive = np.flatnonzero(groups.leaf < 0)
    lines = groups.lines
    first = score + 99.0 * goal
    height = 0
    for number in (*beats, *measures):
        height += 1
        key = lines * (int(number.max() - number.min()) + 1) + number - number.min()
        alive = _compete(tree, alive, key, first if height <= len(beats) else wide, goal, height)
    nothing = np.zeros(size, dtype=np.bool_)
    for key in (lines, groups.phrase):
        height += 1
        alive = _compete(tree, alive, key, wide, goal if key is lines else nothing, height)
    group = groups.phrase
    while len(alive) > 1:
        height += 1
        group = group // 2
        top = wide.copy()
        top[alive[-1]] += 99.0
        alive = _compete(tree, alive, group, top, nothing, height)
    tree.height[alive] = height + 1
    return tree


def _compete(tree: Tree, alive: Ints, key: Ints, score: Floats, safe: Flags, height: int) -> Ints:
    """The survivors: the best of each group, and the safe ones. The others get their group's best as parent."""
    keys = key[alive]
    order = np.lexsort((score[alive], keys))
    ordered = keys[order]
    last = np.append(ordered[1:] != ordered[:-1], True)
    winner = alive[order[last]]
    groups = np.cumsum(np.append(0, last[:-1]))
    head = np.empty(len(alive), dtype=np.int64)
    head[order] = winner[groups]
    loses = (head != alive) & ~safe[alive]
    tree.parent[alive[loses]] = head[loses]
    tree.height[alive[loses]] = height
    left: Ints = alive[~loses]
    return left


def rehang_ornaments(parent: Ints, weight: Floats, host: Ints) -> Ints:
    """Give each ornament the tone it decorates (`host`, -1 for none) as parent, where that one is the heavier.

    A parent is always strictly heavier, so no cycle can arise.
    """
    out = parent.copy()
    ornaments = np.flatnonzero((host >= 0) & (parent >= 0))
    heavier = weight[host[ornaments]] > weight[ornaments]
    out[ornaments[heavier]] = host[ornaments[heavier]]
    return out
