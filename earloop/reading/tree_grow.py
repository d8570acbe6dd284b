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


def grow(score: Floats, spans: list[Ints], phrase: Ints, voice: Ints, goal: Flags, leaf: Ints) -> Tree:
    """The tree over the line.

    `spans` are span numbers a tone, finest first; `goal` marks the tones that stay until their phrase is whole;
    `leaf[i]` is the tone that a grace tone leans on, -1 for the others. Lines (`voice`) join once a phrase is whole.
    """
    size = len(score)
    tree = Tree(np.full(size, -1, dtype=np.int64), np.zeros(size, dtype=np.int64))
    tree.parent[leaf >= 0] = leaf[leaf >= 0]
    alive = np.flatnonzero(leaf < 0)
    lines = int(voice.max()) + 1
    height = 1
    for number in spans:
        key = (phrase * lines + voice) * (int(number.max() - number.min()) + 1) + number - number.min()
        alive = _compete(tree, alive, key, score, goal, height)
        height += 1
    nothing = np.zeros(size, dtype=np.bool_)
    alive = _compete(tree, alive, phrase * lines + voice, score, goal, height)
    alive = _compete(tree, alive, phrase, score, nothing, height + 1)
    height += 2
    late = score + np.where(goal, 0.0, -0.5)
    group = phrase.copy()
    while len(alive) > 1:
        group = group // 2
        top = late.copy()
        top[alive[-1]] += 99.0
        alive = _compete(tree, alive, group, top, nothing, height)
        height += 1
    tree.height[alive] = height
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
