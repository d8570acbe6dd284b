"""Motives that keep to the line's own groups: phrases or gestures compared with the ones before."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from earloop.reading.motive_ornaments import ornament_steps
from earloop.reading.motive_shapes import Ints, Place, Shapes
from earloop.reading.record import Treatment

SHORTEST = 3
"""Fewer tones are an interval, not a motive."""
LONGEST_PARTS = 16
"""Parts inside a group are looked at in its first so many tones: longer fragments are found as runs."""
ORNATE_MODELS = 4
"""How many earlier groups of the same duration a group is compared with as an ornament of theirs."""


@dataclass(frozen=True, slots=True)
class Found:
    """A span that answers a model: both counted among the full tones."""

    place: Place
    model: Place
    treatment: Treatment
    steps: int


@dataclass
class Memory:
    """What has been heard so far at one level, by shape."""

    whole: dict[int, Place] = field(default_factory=dict)
    inverted: dict[int, Place] = field(default_factory=dict)
    backwards: dict[int, Place] = field(default_factory=dict)
    backwards_in_rhythm: dict[int, Place] = field(default_factory=dict)
    parts: dict[int, tuple[Place, int]] = field(default_factory=dict)
    by_time: dict[int, list[Place]] = field(default_factory=lambda: defaultdict(list))


@dataclass(frozen=True)
class _Keys:
    whole: list[int]
    inverted: list[int]
    lengths: list[int]
    backwards: list[int]
    backwards_in_rhythm: list[int]
    time: list[int]


def answers(shapes: Shapes, units: list[Place]) -> Iterator[Found]:
    """Every group that answers an earlier one, in order. `units` must be in order; short ones are passed over."""
    units = [unit for unit in units if unit[1] - unit[0] + 1 >= SHORTEST]
    if len(units) < 2:
        return
    first, last = np.array(units).T
    keys = _keys(shapes, first, last)
    parts = _parts(shapes, units)
    memory = Memory()
    for k, unit in enumerate(units):
        found = _answer(shapes, memory, keys, k, unit, parts[k])
        if found:
            yield found
        else:
            _remember(memory, keys, k, unit, parts[k])


def _keys(shapes: Shapes, first: Ints, last: Ints) -> _Keys:
    end = shapes.onset[last] + shapes.length[last] - shapes.onset[first]
    return _Keys(
        shapes.same_way(first, last).tolist(),
        shapes.turned_over(first, last).tolist(),
        shapes.with_last_length(first, last).tolist(),
        shapes.backwards(first, last).tolist(),
        shapes.backwards_in_rhythm(first, last).tolist(),
        np.round(24 * end).astype(np.int64).tolist(),
    )


def _parts(shapes: Shapes, units: list[Place]) -> list[list[tuple[int, int, int]]]:
    """For each group its proper parts as (shape, first, last), longest first."""
    firsts: list[int] = []
    lasts: list[int] = []
    counts: list[int] = []
    for first, last in units:
        stop = min(last, first + LONGEST_PARTS - 1)
        spans = [
            (a, a + n - 1)
            for n in range(stop - first + (stop < last), SHORTEST - 1, -1)
            for a in range(first, stop - n + 2)
            if a + n - 1 <= last
        ]
        firsts += [a for a, _ in spans]
        lasts += [b for _, b in spans]
        counts.append(len(spans))
    if not firsts:
        return [[] for _ in units]
    keys = shapes.same_way(np.array(firsts), np.array(lasts)).tolist()
    rows = list(zip(keys, firsts, lasts, strict=True))
    edges = np.cumsum([0, *counts]).tolist()
    return [rows[a:b] for a, b in pairwise(edges)]


def _answer(
    shapes: Shapes, memory: Memory, keys: _Keys, k: int, unit: Place, parts: list[tuple[int, int, int]]
) -> Found | None:
    """How this group answers an earlier one: the closest kinship first."""
    if (model := memory.whole.get(keys.whole[k])) and _telling(shapes, *unit):
        return _in_time(shapes, unit, model, _steps(shapes, unit, model))
    size = unit[1] - unit[0] + 1
    if size > SHORTEST:
        if model := memory.inverted.get(keys.whole[k]):
            return Found(unit, model, "inverted", _steps(shapes, unit, model))
        model = memory.backwards.get(keys.lengths[k]) or memory.backwards_in_rhythm.get(keys.whole[k])
        if model:
            steps = int(shapes.height[unit[1]] - shapes.height[model[0]])
            return Found(unit, model, "retrograde", steps)
    for key, first, last in parts:
        model = memory.whole.get(key)
        if model and _telling(shapes, first, last) and _same_speed(shapes, first, model[0]):
            return Found(unit, model, "extended", int(shapes.height[first] - shapes.height[model[0]]))
    if (held := memory.parts.get(keys.whole[k])) and _telling(shapes, *unit):
        model, start = held
        if _same_speed(shapes, unit[0], start) and 5 * size >= 2 * (model[1] - model[0] + 1):
            return Found(unit, model, "fragment", int(shapes.height[unit[0]] - shapes.height[start]))
    return _ornament(shapes, memory, keys.time[k], unit)


def _in_time(shapes: Shapes, unit: Place, model: Place, steps: int) -> Found:
    """A group of the model's shape: repeated, transposed, adorned with graces, or at another speed."""
    speed = float(shapes.ioi[unit[0]] / shapes.ioi[model[0]])
    if speed > 1.02 or speed < 0.98:
        return Found(unit, model, "augmented" if speed > 1 else "diminished", steps)
    graces = int(shapes.graces_before[unit[0] : unit[1] + 1].sum())
    before = int(shapes.graces_before[model[0] : model[1] + 1].sum())
    if graces != before:
        return Found(unit, model, "ornamented" if graces > before else "simplified", steps)
    return Found(unit, model, "transposed" if steps else "repeated", steps)


def _ornament(shapes: Shapes, memory: Memory, time: int, unit: Place) -> Found | None:
    size = unit[1] - unit[0] + 1
    for model in memory.by_time.get(time, [])[-ORNATE_MODELS:]:
        other = model[1] - model[0] + 1
        if other < size <= 3 * other + 2:
            steps = ornament_steps(shapes, model, unit)
            if steps is not None:
                return Found(unit, model, "ornamented", steps)
        elif size < other <= 3 * size + 2:
            steps = ornament_steps(shapes, unit, model)
            if steps is not None:
                return Found(unit, model, "simplified", -steps)
    return None


def _remember(memory: Memory, keys: _Keys, k: int, unit: Place, parts: list[tuple[int, int, int]]) -> None:
    memory.whole.setdefault(keys.whole[k], unit)
    memory.inverted.setdefault(keys.inverted[k], unit)
    memory.backwards.setdefault(keys.backwards[k], unit)
    memory.backwards_in_rhythm.setdefault(keys.backwards_in_rhythm[k], unit)
    memory.by_time[keys.time[k]].append(unit)
    for key, first, _ in parts:
        memory.parts.setdefault(key, (unit, first))


def _steps(shapes: Shapes, unit: Place, model: Place) -> int:
    return int(shapes.height[unit[0]] - shapes.height[model[0]])


def _same_speed(shapes: Shapes, first: int, second: int) -> bool:
    return abs(float(shapes.ioi[first] / shapes.ioi[second]) - 1) < 0.02


def _telling(shapes: Shapes, first: int, last: int) -> bool:
    """Whether a part says more than a bit of even scale or repeated tones: else it is everywhere and means nothing."""
    times = [*shapes.ioi[first:last].tolist(), float(shapes.length[last])]
    if max(times) > 1.02 * min(times):
        return True
    steps = np.diff(shapes.height[first : last + 1])
    return last - first >= SHORTEST and bool((steps != steps[0]).any())
