"""Motives that keep to the line's own groups: phrases or gestures compared with the ones before."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from earloop.reading.motive_ornaments import ornament_steps
from earloop.reading.motive_shapes import Hashes, Ints, Place, Shapes
from earloop.reading.record import Treatment

SHORTEST = 3
"""Fewer tones are an interval, not a motive."""
LONGEST_PARTS = 16
"""Parts inside a group are looked at in its first so many tones: longer fragments are found as runs."""
ORNATE_MODELS = 4
"""How many earlier groups of the same duration a group is compared with as an ornament of theirs."""


Part = tuple[int, int, int]
"""A shape, and the first and last full tone that have it."""


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
    by_time: dict[int, list[tuple[Place, frozenset[int]]]] = field(default_factory=lambda: defaultdict(list))


@dataclass(frozen=True)
class _Keys:
    whole: list[int]
    inverted: list[int]
    lengths: list[int]
    backwards: list[int]
    backwards_in_rhythm: list[int]
    time: list[int]
    onsets: list[frozenset[int]]
    telling: list[bool]


def answers(shapes: Shapes, units: list[Place]) -> Iterator[Found]:
    """Every group that answers an earlier one, in order. `units` must be in order; short ones are passed over."""
    units = [unit for unit in units if unit[1] - unit[0] + 1 >= SHORTEST]
    if len(units) < 2:
        return
    first, last = np.array(units).T
    keys = _keys(shapes, first, last)
    parts = _parts(shapes, first, last, shapes.same_way(first, last)[keys.telling])
    memory = Memory()
    for k, unit in enumerate(units):
        found = _answer(shapes, memory, keys, k, unit, parts[k])
        if found:
            yield found
        else:
            _remember(shapes, memory, keys, k, unit, parts[k])


def _keys(shapes: Shapes, first: Ints, last: Ints) -> _Keys:
    end = shapes.onset[last] + shapes.length[last] - shapes.onset[first]
    return _Keys(
        shapes.same_way(first, last).tolist(),
        shapes.turned_over(first, last).tolist(),
        shapes.with_last_length(first, last).tolist(),
        shapes.backwards(first, last).tolist(),
        shapes.backwards_in_rhythm(first, last).tolist(),
        np.round(24 * end).astype(np.int64).tolist(),
        _onsets(shapes, first, last),
        [_telling(shapes, a, b) for a, b in zip(first.tolist(), last.tolist(), strict=True)],
    )


def _onsets(shapes: Shapes, first: Ints, last: Ints) -> list[frozenset[int]]:
    """The onsets in each group, counted from its first tone."""
    sizes = last - first + 1
    ends = np.cumsum(sizes)
    tones = np.arange(ends[-1]) + np.repeat(last + 1 - ends, sizes)
    onsets = np.round(24 * (shapes.onset[tones] - np.repeat(shapes.onset[first], sizes))).astype(np.int64).tolist()
    return [frozenset(onsets[end - size : end]) for end, size in zip(ends.tolist(), sizes.tolist(), strict=True)]


def _parts(shapes: Shapes, first: Ints, last: Ints, telling: Hashes) -> list[list[Part]]:
    """For each group those proper parts, longest first, that have the shape of some telling group of the line."""
    size = np.minimum(last - first + 1, LONGEST_PARTS)
    unit: list[Ints] = []
    starts: list[Ints] = []
    ends: list[Ints] = []
    for length in np.unique(size).tolist():
        own = np.flatnonzero(size == length)
        offsets = _offsets(length)
        unit.append(np.repeat(own, len(offsets)))
        starts.append((first[own][:, None] + offsets[:, 0]).ravel())
        ends.append((first[own][:, None] + offsets[:, 1]).ravel())
    owner, start, end = np.concatenate(unit), np.concatenate(starts), np.concatenate(ends)
    keys = shapes.same_way(start, end)
    proper = (end - start) < (last - first)[owner]
    kept = np.flatnonzero(proper & np.isin(keys, telling))
    out: list[list[Part]] = [[] for _ in range(len(first))]
    rows = zip(owner[kept].tolist(), keys[kept].tolist(), start[kept].tolist(), end[kept].tolist(), strict=True)
    for k, key, a, b in rows:
        out[k].append((key, a, b))
    return out


@lru_cache(maxsize=LONGEST_PARTS)
def _offsets(size: int) -> Ints:
    """First and last of every span of SHORTEST or more tones among `size`, the longest first."""
    spans = [(a, a + n - 1) for n in range(size, SHORTEST - 1, -1) for a in range(size - n + 1)]
    return np.array(spans, dtype=np.int64)


def _answer(shapes: Shapes, memory: Memory, keys: _Keys, k: int, unit: Place, parts: list[Part]) -> Found | None:
    """How this group answers an earlier one: the closest kinship first."""
    if (model := memory.whole.get(keys.whole[k])) and keys.telling[k]:
        return _in_time(shapes, unit, model, _steps(shapes, unit, model))
    size = unit[1] - unit[0] + 1
    if size > SHORTEST:
        if model := memory.inverted.get(keys.whole[k]):
            return Found(unit, model, "inverted", _steps(shapes, unit, model))
        model = memory.backwards.get(keys.lengths[k]) or memory.backwards_in_rhythm.get(keys.whole[k])
        if model:
            steps = shapes.heights[unit[1]] - shapes.heights[model[0]]
            return Found(unit, model, "retrograde", steps)
    for key, first, last in parts:
        model = memory.whole.get(key)
        if model and _telling(shapes, first, last) and _same_speed(shapes, first, model[0]):
            return Found(unit, model, "extended", shapes.heights[first] - shapes.heights[model[0]])
    if (held := memory.parts.get(keys.whole[k])) and keys.telling[k]:
        model, start = held
        if _same_speed(shapes, unit[0], start) and 5 * size >= 2 * (model[1] - model[0] + 1):
            return Found(unit, model, "fragment", shapes.heights[unit[0]] - shapes.heights[start])
    return _ornament(shapes, memory, keys.time[k], keys.onsets[k], unit)


def _in_time(shapes: Shapes, unit: Place, model: Place, steps: int) -> Found:
    """A group of the model's shape: repeated, transposed, adorned with graces, or at another speed."""
    speed = shapes.times[unit[0]] / shapes.times[model[0]]
    if speed > 1.02 or speed < 0.98:
        return Found(unit, model, "augmented" if speed > 1 else "diminished", steps)
    graces = int(shapes.graces_before[unit[0] : unit[1] + 1].sum())
    before = int(shapes.graces_before[model[0] : model[1] + 1].sum())
    if graces != before:
        return Found(unit, model, "ornamented" if graces > before else "simplified", steps)
    return Found(unit, model, "transposed" if steps else "repeated", steps)


def _ornament(shapes: Shapes, memory: Memory, time: int, own: frozenset[int], unit: Place) -> Found | None:
    """Ornaments fill the time of the plain tones: every plain tone's onset is an onset of the ornate group too."""
    earlier = memory.by_time.get(time)
    if not earlier:
        return None
    size = unit[1] - unit[0] + 1
    for model, onsets in earlier[-ORNATE_MODELS:]:
        other = model[1] - model[0] + 1
        if other < size <= 3 * other + 2 and onsets <= own:
            steps = ornament_steps(shapes, model, unit)
            if steps is not None:
                return Found(unit, model, "ornamented", steps)
        elif size < other <= 3 * size + 2 and own <= onsets:
            steps = ornament_steps(shapes, unit, model)
            if steps is not None:
                return Found(unit, model, "simplified", -steps)
    return None


def _remember(shapes: Shapes, memory: Memory, keys: _Keys, k: int, unit: Place, parts: list[Part]) -> None:
    memory.whole.setdefault(keys.whole[k], unit)
    memory.inverted.setdefault(keys.inverted[k], unit)
    memory.backwards.setdefault(keys.backwards[k], unit)
    memory.backwards_in_rhythm.setdefault(keys.backwards_in_rhythm[k], unit)
    memory.by_time[keys.time[k]].append((unit, keys.onsets[k]))
    for key, first, _ in parts:
        memory.parts.setdefault(key, (unit, first))


def _steps(shapes: Shapes, unit: Place, model: Place) -> int:
    return shapes.heights[unit[0]] - shapes.heights[model[0]]


def _same_speed(shapes: Shapes, first: int, second: int) -> bool:
    return abs(shapes.times[first] / shapes.times[second] - 1) < 0.02


def _telling(shapes: Shapes, first: int, last: int) -> bool:
    """Whether a part says more than a bit of even scale or repeated tones: else it is everywhere and means nothing."""
    times = [*shapes.times[first:last], shapes.lengths[last]]
    if max(times) > 1.02 * min(times):
        return True
    heights = shapes.heights
    step = heights[first + 1] - heights[first]
    even = all(heights[i + 1] - heights[i] == step for i in range(first + 1, last))
    return last - first >= SHORTEST and not even
