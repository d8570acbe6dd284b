"""The tree's weights against time-span trees that two readers made by hand of 26 passages.

    python -m tests.bench trees

How often the tone that governs outweighs the tone it governs (governs), and how many heads of measures and of half
measures are among as many heaviest tones (the tone of each that stands for the longest time; by time: all tones that
stand for so much); with the meter given and without, the line alone and with what sounds with it in its score; beside
interval times beat, interval alone, and the other reader's tree. The same on 42 further passages, read once. Weights
are fitted to all of these: `head_fit` says how they do with works left out. The same on 24 passages by two other
readers, to which nothing is fitted. Then how often the tree is right that a tone hangs on another, by how sure it says
to be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading import read
from tests.bench.variants import reliability
from tests.hand_records import HandTree, TreeOf, trees
from tests.hand_trees import (
    Score,
    alone,
    among_heaviest,
    governs,
    heads_among,
    heads_by_time,
    interval,
    interval_by_beat,
    tree_weights,
    weights_of,
    weights_without_meter,
)

Floats = NDArray[np.float64]
JUDGES: dict[str, Callable[[Line], Floats]] = {
    "the tree, meter given": lambda line: weights_of(alone(line)),
    "the tree, no meter": lambda line: weights_without_meter(alone(line)),
    "the tree, meter and other parts": weights_of,
    "the tree, other parts, no meter": weights_without_meter,
    "inter-onset interval x beat": interval_by_beat,
    "inter-onset interval": interval,
}


def row(name: str, cases: list[tuple[Floats, Line, HandTree]]) -> None:
    pairs, measures, halves, long, half_long = (Score() for _ in range(5))
    for weight, line, tree in cases:
        pairs.add(*governs(weight, line, tree))
        measures.add(*heads_among(weight, line, tree, 1.0))
        halves.add(*heads_among(weight, line, tree, 0.5))
        long.add(*among_heaviest(weight, line, heads_by_time(line, tree, 1.0)))
        half_long.add(*among_heaviest(weight, line, heads_by_time(line, tree, 0.5)))
    print(
        f"    {name:32} governs {pairs.share:.3f} of {pairs.total}"
        f"   heads {measures.share:.3f} of {measures.total}, {halves.share:.3f} of {halves.total}"
        f"   by time {long.share:.3f} of {long.total}, {half_long.share:.3f} of {half_long.total}"
    )


def weighed(passages: list[TreeOf]) -> dict[str, dict[str, Floats]]:
    """What each of the judges finds in each passage."""
    return {name: {p.name: judge(p.line) for p in passages} for name, judge in JUDGES.items()}


def both_readers(title: str, passages: list[TreeOf], weights: dict[str, dict[str, Floats]]) -> None:
    for reader in (0, 1):
        print(f"{title}, {len(passages)} passages, {'first' if reader == 0 else 'second'} reader")
        for name in JUDGES:
            row(name, [(weights[name][p.name], p.line, p.trees[reader]) for p in passages])
        others = [(tree_weights(p.line, p.trees[1 - reader]), p.line, p.trees[reader]) for p in passages]
        row("the other reader", others)


def is_above(tree: HandTree, above: int, tone: int) -> bool:
    while tone >= 0 and tone != above:
        tone = tree.governed_by[tone]
    return tone == above


def claims(passage: TreeOf, line: Line) -> Iterator[tuple[float, bool]]:
    """Where one of a tone and its parent in our tree stands above the other by hand: how sure, and whether so."""
    weights = read(line).weights
    for tree in passage.trees:
        for tone, parent in enumerate(weights.parent):
            if parent < 0 or {tone, parent} & tree.arguable or passage.line[tone].grace:
                continue
            down, up = is_above(tree, parent, tone), is_above(tree, tone, parent)
            if down or up:
                yield weights.sure[tone], down


def main() -> None:
    every = list(trees())
    kinds = {
        "all": every,
        "scores": [p for p in every if "oneills" not in p.name],
        "airs": [p for p in every if "oneills" in p.name],
    }
    weights = weighed(every)
    for kind, own in kinds.items():
        both_readers(kind, own, weights)
    further = list(trees("further"))
    print(f"further, {len(further)} passages, one reader each")
    for name, judge in JUDGES.items():
        row(name, [(judge(p.line), p.line, p.trees[0]) for p in further])
    measuring = list(trees("measuring"))
    both_readers("measuring", measuring, weighed(measuring))
    for name, metered in (("meter given", True), ("no meter", False)):
        print(f"how sure that one tone hangs on another, both readers, {name}")
        lines = [(p, alone(p.line) if metered else replace(alone(p.line), meters=())) for p in every]
        reliability([claim for p, line in lines for claim in claims(p, line)])


if __name__ == "__main__":
    main()
