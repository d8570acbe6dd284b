"""One tone of the skeleton was changed: which?"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from random import Random

from earloop.coaching.by_tones import names_in, up_to_a_tone
from earloop.coaching.difficulty import from_home, grows, held_to_scale, lightness
from earloop.coaching.passages import stretches
from earloop.coaching.question import Answer, Naming, Part, Question, Spot
from earloop.coaching.scale import moved_in_key
from earloop.coaching.sounds import layer_sound, page, sound_of, tones
from earloop.layers import build
from earloop.line import Pitch, Span
from earloop.reading.record import DEEPEST, Reading

FEWEST, MOST = 3, 9
"""Tones of a skeleton that can be asked about: a digit key each."""
SIZES_OF_CHANGE = (1, 2)
"""Letters: a step, or a third."""


def changed_tone(reading: Reading, phrase: int) -> Iterator[Spot]:
    """The skeleton with one tone of it changed, after the true skeleton or, harder, after the page."""
    for span in stretches(reading, phrase):
        yield from _skeletons(reading, phrase, span)


def _skeletons(reading: Reading, phrase: int, span: Span) -> Iterator[Spot]:
    seen: set[tuple[int, ...]] = set()
    for depth in range(1, DEEPEST + 1):
        kept = tuple(i for i in span.indexes if reading.weights.level[i] >= depth and reading.line[i].length > 0)
        whole = len(kept) == sum(reading.weights.level[i] >= depth for i in span.indexes)
        if kept in seen or not FEWEST <= len(kept) <= MOST or not whole:
            continue
        seen.add(kept)
        for index in kept:
            for size in SIZES_OF_CHANGE:
                if changes(reading, span, index, size):
                    yield from _spots(reading, phrase, span, (depth, kept), index, size)


def _spots(
    reading: Reading, phrase: int, span: Span, skeleton: tuple[int, tuple[int, ...]], index: int, size: int
) -> Iterator[Spot]:
    depth, kept = skeleton
    for after_page in (False, True):
        difficulty = held_to_scale(
            0.05
            + 0.25 * after_page
            + 0.2 * grows(len(kept) - FEWEST, 4)
            + 0.15 * (size == 1)
            + 0.1 * (index not in (kept[0], kept[-1]))
            + 0.15 * lightness(reading, index)
            + 0.1 * from_home(reading, index)
        )
        make = partial(_changed_tone, reading, phrase, span, (depth, kept), (index, size, after_page), difficulty)
        yield Spot("changed_tone", phrase, (index,), difficulty, make)


def changes(reading: Reading, span: Span, index: int, size: int) -> list[Pitch]:
    """The pitches that may stand in for a tone: of its own key's scale, inside the span's range, and truly others."""
    pitch = reading.line[index].pitch
    keys = [reading.line[i].midi for i in span.indexes]
    found = [moved_in_key(reading, index, steps) for steps in (-size, size)]
    return [other for other in found if min(keys) <= other.midi <= max(keys) and other.midi != pitch.midi]


def _changed_tone(
    reading: Reading,
    phrase: int,
    span: Span,
    skeleton: tuple[int, tuple[int, ...]],
    change: tuple[int, int, bool],
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    depth, kept = skeleton
    index, size, after_page = change
    other = rng.choice(changes(reading, span, index, size))
    layer = build(reading, "skeleton", span, depth)
    told = [naming(reading.degrees[i], reading.line[i].pitch, reading.home.key.mode) for i in kept]
    answers = tuple(
        Answer(
            str(place + 1),
            f"tone {place + 1} of {len(kept)} ({told[place]})",
            tones(reading, [reading.line[i].pitch, other if i == index else reading.line[i].pitch], [i, i]),
        )
        for place, i in enumerate(kept)
    )
    plain = Part("the phrase", page(reading, span))
    if not after_page:
        plain = Part("the skeleton", sound_of(reading, "skeleton", span, depth))
    right = kept.index(index)
    way = "higher" if other.midi > reading.line[index].midi else "lower"
    by = "a step" if size == 1 else "a third"
    return Question(
        kind="changed_tone",
        item="question:changed_tone",
        phrase=phrase,
        about=(index,),
        words="In the skeleton that sounded last one tone was changed: which?",
        sound=(plain, Part("the skeleton with one tone changed", layer_sound(reading, layer, {index: other}))),
        answers=answers,
        right=right,
        difficulty=difficulty,
        because=f"tone {right + 1} ({told[right]}) sounded {by} {way}",
        by_tones=up_to_a_tone(
            [reading.line[i].midi for i in kept], right, other.midi, names_in(reading.home.key, naming)
        ),
        degree=str(reading.degrees[index]),
    )
