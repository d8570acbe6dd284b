"""Fit the tree to what has been decided by hand, keeping every depth a consistent cut.

A decided level moves its own tone alone: no other tone takes the place of one that was made lighter, so that correcting
a page goes forward. Every tone gets a key (level, then weight), and hangs on the nearest of its former ancestors with a
higher key. Decided ornaments hang where they were put, and their levels agree with their tone's. Where decisions
contradict each other (two tones that decorate each other, a tone deeper than the one it decorates), the levels hold and
the later link is left out: no tree has them all.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from earloop.reading.record import DEEPEST

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def settle(
    parent: Ints, level: Ints, weight: Floats, levels: Mapping[int, int], decorates: Mapping[int, int]
) -> tuple[Ints, Ints, Floats]:
    """Parents, levels and weights that honour the decisions."""
    size = len(parent)
    fixed = {i: min(max(v, 0), DEEPEST) for i, v in levels.items() if 0 <= i < size}
    rank = level.tolist()
    for index, value in fixed.items():
        rank[index] = value
    links = _possible_links(decorates, fixed, size)
    for index in sorted(links):
        _lift_hosts(index, links, rank, fixed)
    order = _hosts_first(links)
    for index in order:
        if index not in fixed:
            rank[index] = min(rank[index], rank[links[index]])
    place = (np.argsort(np.argsort(weight, kind="stable")) / size).tolist()
    keys = list(zip(rank, place, strict=True))
    for step, index in enumerate(order):
        host = keys[links[index]]
        if keys[index] >= host:
            keys[index] = (rank[index], min(place[index], host[1]) - 1e-6 * (step + 1))
    return _hang(parent, links, keys), np.array(rank), _weights(keys)


def _possible_links(decorates: Mapping[int, int], fixed: Mapping[int, int], size: int) -> dict[int, int]:
    """The decided links that a tree can hold together with the decided levels, in the order of their tones."""
    links: dict[int, int] = {}
    for index, host in sorted(decorates.items()):
        if not (0 <= index < size and 0 <= host < size):
            continue
        chain = _chain(host, links)
        floor = max(fixed.get(i, 0) for i in [index, *_all_below(index, links)])
        ceiling = min(fixed.get(i, DEEPEST) for i in chain)
        if index not in chain and floor <= ceiling:
            links[index] = host
    return links


def _chain(index: int, links: Mapping[int, int]) -> list[int]:
    """The tone and everything above it by links."""
    chain = [index]
    while chain[-1] in links:
        chain.append(links[chain[-1]])
    return chain


def _all_below(index: int, links: Mapping[int, int]) -> list[int]:
    return [i for i in links if i != index and index in _chain(i, links)]


def _lift_hosts(index: int, links: Mapping[int, int], rank: list[int], fixed: Mapping[int, int]) -> None:
    """An ornament with a decided level lifts the tones it decorates to it."""
    if index in fixed:
        for host in _chain(links[index], links):
            if host not in fixed:
                rank[host] = max(rank[host], rank[index])


def _hosts_first(links: Mapping[int, int]) -> list[int]:
    return sorted(links, key=lambda i: len(_chain(i, links)))


def _hang(parent: Ints, links: Mapping[int, int], keys: list[tuple[int, float]]) -> Ints:
    """Every tone on its decided tone, or on the nearest former ancestor with a higher key; else on the new root."""
    former = parent.tolist()
    root = max(range(len(keys)), key=lambda i: keys[i])
    out = list(former)
    for index, key in enumerate(keys):
        if index in links:
            out[index] = links[index]
            continue
        at, seen = former[index], 0
        while at >= 0 and keys[at] <= key:
            at, seen = former[at], seen + 1
        out[index] = at if at >= 0 else root
    out[root] = -1
    return np.array(out, dtype=np.int64)


def _weights(keys: list[tuple[int, float]]) -> Floats:
    """Weights in the order of the keys: levels first, the old order inside one."""
    return np.array([(rank + max(place, 0.0) + min(place, 0.0)) / (DEEPEST + 1) for rank, place in keys])
