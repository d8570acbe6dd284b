"""A motive is the smallest thing that is used again: phrases made of one are no motives of their own.

Schoenberg (Fundamentals of Musical Composition, 1967, ch. 3) calls it the smallest common multiple of what follows.
Where a phrase answers a phrase that is made of statements of one gesture, the gesture is the motive, as far as it
comes back in the answer too. A phrase that comes again as it was stays one repeated phrase.
"""

from __future__ import annotations

from dataclasses import replace

from earloop.reading.motive_shapes import Place, Shapes
from earloop.reading.motive_units import Found


def in_small_units(shapes: Shapes, levels: list[list[Found]]) -> list[list[Found]]:
    """The answers of phrases and of gestures (the last level), each told by the smallest unit that makes them up."""
    gestures = levels[-1]
    phrases = [[a for a in level if a.treatment == "repeated" or not _made_up(a, gestures)] for level in levels[:-1]]
    return [*phrases, [_without_tail(shapes, answer, gestures) for answer in gestures]]


def _made_up(phrase: Found, gestures: list[Found]) -> bool:
    """Whether the model holds two statements of one gesture, and the answer one more."""
    within_model = [g for g in gestures if _inside(g.place, phrase.model)]
    within_answer = {g.model for g in gestures if _inside(g.place, phrase.place)}
    for motive in {g.model for g in within_model} & within_answer:
        statements = sum(g.model == motive for g in within_model) + _inside(motive, phrase.model)
        if statements > 1:
            return True
    return False


def _without_tail(shapes: Shapes, answer: Found, gestures: list[Found]) -> Found:
    """A statement that follows another one at once is no longer than that: what comes after it belongs to no motive."""
    if answer.treatment != "extended":
        return answer
    (first, _), (start, stop) = answer.place, answer.model
    before = [answer.model, *(g.place for g in gestures if g.model == answer.model)]
    last = first + stop - start
    height = shapes.heights
    moves = [height[i + 1] - height[i] for i in range(first, last)]
    alike = moves == [height[i + 1] - height[i] for i in range(start, stop)]
    if not alike or all(end != first - 1 for _, end in before):
        return answer
    steps = height[first] - height[start]
    return replace(answer, place=(first, last), treatment="transposed" if steps else "repeated", steps=steps)


def _inside(part: Place, whole: Place) -> bool:
    return whole[0] <= part[0] and part[1] <= whole[1]
