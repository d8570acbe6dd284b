"""A motive is the smallest thing that is used again: phrases made of one are no motives of their own.

Schoenberg (Fundamentals of Musical Composition, 1967, ch. 3) calls it the smallest common multiple of what follows.
Where a phrase answers a phrase that is made of statements of one gesture, the gesture is the motive, as far as it
comes back in the answer too. A phrase that comes again as it was stays one repeated phrase.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from dataclasses import replace

from earloop.reading.motive_shapes import Place, Shapes
from earloop.reading.motive_units import Found


class _Gestures:
    """The answers of gestures, so kept that those within a place, and the ends of one model's, are soon found."""

    def __init__(self, found: list[Found]) -> None:
        self._sorted = sorted(found, key=lambda answer: answer.place)
        self._starts = [answer.place[0] for answer in self._sorted]
        self._ends: defaultdict[Place, set[int]] = defaultdict(set)
        for answer in found:
            self._ends[answer.model].add(answer.place[1])

    def within(self, whole: Place) -> list[Found]:
        first, last = (bisect_left(self._starts, edge) for edge in (whole[0], whole[1] + 1))
        return [answer for answer in self._sorted[first:last] if _inside(answer.place, whole)]

    def ends_of(self, model: Place) -> set[int]:
        """Where the model and its answers end."""
        return {model[1]} | self._ends[model]


def in_small_units(shapes: Shapes, levels: list[list[Found]]) -> list[list[Found]]:
    """The answers of phrases and of gestures (the last level), each told by the smallest unit that makes them up."""
    gestures = _Gestures(levels[-1])
    phrases = [[a for a in level if a.treatment == "repeated" or not _made_up(a, gestures)] for level in levels[:-1]]
    return [*phrases, [_without_tail(shapes, answer, gestures) for answer in levels[-1]]]


def _made_up(phrase: Found, gestures: _Gestures) -> bool:
    """Whether the model holds two statements of one gesture, and the answer one more."""
    within_model = [g.model for g in gestures.within(phrase.model)]
    within_answer = {g.model for g in gestures.within(phrase.place)}
    return any(
        within_model.count(motive) + _inside(motive, phrase.model) > 1 for motive in set(within_model) & within_answer
    )


def _without_tail(shapes: Shapes, answer: Found, gestures: _Gestures) -> Found:
    """A statement that follows another one at once is no longer than that: what comes after it belongs to no motive."""
    if answer.treatment != "extended":
        return answer
    (first, _), (start, stop) = answer.place, answer.model
    last = first + stop - start
    height = shapes.heights
    moves = [height[i + 1] - height[i] for i in range(first, last)]
    alike = moves == [height[i + 1] - height[i] for i in range(start, stop)]
    if not alike or first - 1 not in gestures.ends_of(answer.model):
        return answer
    steps = height[first] - height[start]
    return replace(answer, place=(first, last), treatment="transposed" if steps else "repeated", steps=steps)


def _inside(part: Place, whole: Place) -> bool:
    return whole[0] <= part[0] and part[1] <= whole[1]
