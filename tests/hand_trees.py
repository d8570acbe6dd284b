"""How well weights go with trees read by hand: who governs outweighs, and heads of measures are the heaviest tones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading import read
from earloop.reading.pulse import find_pulse
from tests.hand_records import HandTree

Floats = NDArray[np.float64]


def alone(line: Line) -> Line:
    """The line without what sounds with it in its score."""
    return replace(line, others=())


def weights_of(line: Line) -> Floats:
    return np.array(read(line).weights.weight)


def weights_without_meter(line: Line) -> Floats:
    return weights_of(replace(line, meters=()))


def interval(line: Line) -> Floats:
    """Log2 of the time to the next onset."""
    return np.log2(np.maximum(line.columns.ioi, 1e-3))


def interval_by_beat(line: Line) -> Floats:
    return interval(line) + find_pulse(line).strength


@dataclass
class Score:
    """Right and of how many, for several things that are counted."""

    right: float = 0.0
    total: int = 0

    def add(self, right: float, total: int) -> None:
        self.right, self.total = self.right + right, self.total + total

    @property
    def share(self) -> float:
        return self.right / max(1, self.total)


def governs(weight: Sequence[float] | Floats, line: Line, tree: HandTree) -> tuple[float, int]:
    """Of the pairs of a tone and the one that governs it, how many have the heavier governing; ties count half.

    Grace notes and arguable tones are left out.
    """
    pairs = [
        (above, i)
        for i, above in enumerate(tree.governed_by)
        if above >= 0 and i not in tree.arguable and not line[i].grace
    ]
    return sum(0.5 + 0.5 * float(np.sign(weight[above] - weight[i])) for above, i in pairs), len(pairs)


def heads_among(weight: Sequence[float] | Floats, line: Line, tree: HandTree, part: float) -> tuple[int, int]:
    """Heads of measures (`part` 1) or of parts of them: how many are among as many heaviest tones of the line."""
    return among_heaviest(weight, line, heads_of(line, tree, part))


def among_heaviest(weight: Sequence[float] | Floats, line: Line, wanted: set[int]) -> tuple[int, int]:
    """How many of them are among as many heaviest tones of the line."""
    full = [i for i in range(len(line)) if not line[i].grace]
    best = sorted(full, key=lambda i: -weight[i])[: len(wanted)]
    return len(wanted & set(best)), len(wanted)


def heads_by_time(line: Line, tree: HandTree, part: float) -> set[int]:
    """The tones that stand for a measure's time or more (`part` 1), or for such a part of it."""
    meter = line.meter
    assert meter is not None
    time = _time_of(line, tree)
    return {i for i in range(len(line)) if not line[i].grace and time[i] >= part * meter.measure_length - 1e-6}


def heads_of(line: Line, tree: HandTree, part: float) -> set[int]:
    """Of the tones that begin in each measure, or part of one, the tone that stands for the longest time."""
    meter = line.meter
    assert meter is not None
    span = meter.measure_length * part
    number = np.floor((line.columns.onset - meter.first_downbeat + 1e-6) / span)
    time = _time_of(line, tree)
    own: dict[int, list[int]] = {}
    for i in range(len(line)):
        if not line[i].grace:
            own.setdefault(int(number[i]), []).append(i)
    return {max(tones, key=lambda i: (time[i], -tree.depth(i))) for tones in own.values()}


def _time_of(line: Line, tree: HandTree) -> Floats:
    """Quarters from the first tone that each tone governs, itself among them, to the onset after the last."""
    begins = line.columns.onset.copy()
    ends = np.append(begins[1:], begins[-1] + line.columns.length[-1])
    for i in sorted(range(len(line)), key=lambda i: -tree.depth(i)):
        above = tree.governed_by[i]
        if above >= 0:
            begins[above], ends[above] = min(begins[above], begins[i]), max(ends[above], ends[i])
    return ends - begins


def tree_weights(line: Line, tree: HandTree) -> Floats:
    """A reader's own tree as weights: the time a tone stands for, then how high it stands."""
    depths = np.array([tree.depth(i) for i in range(len(line))])
    return _time_of(line, tree) - 1e-6 * depths
