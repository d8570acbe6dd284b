"""Here is the skeleton: which of two pages does it belong to?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import partial
from random import Random

from earloop.coaching.by_tones import by_their_tones, names_in, where_pages_differ
from earloop.coaching.difficulty import away, grows, held_to_scale
from earloop.coaching.passages import MOST_TONES, stretches
from earloop.coaching.question import Answer, Naming, Part, Question, Spot
from earloop.coaching.scale import moved_in_key
from earloop.coaching.sounds import layer_sound, page
from earloop.layers import build, entry
from earloop.line import Pitch, Span
from earloop.reading.record import Reading

FEWEST = 3
"""Tones that a skeleton needs before it can belong to one page rather than another."""
NEAREST = 4
"""So many other phrases, those of the most similar length, stand against a phrase."""
DEPTH = entry("skeleton").depth
NOTHING_MOVED: Mapping[int, Pitch] = {}


@dataclass(frozen=True)
class OtherPage:
    """The page that is not meant: a span of the line, with tones moved where it is a variation."""

    span: Span
    moved: Mapping[int, Pitch]
    why: str


def which_page(reading: Reading, phrase: int) -> Iterator[Spot]:
    """Against another phrase of the piece, or the same one with a skeleton tone and its ornaments moved."""
    for span in stretches(reading, phrase):
        yield from _page_spots(reading, phrase, span)


def _page_spots(reading: Reading, phrase: int, span: Span) -> Iterator[Spot]:
    skeleton = _skeleton(reading, span)
    if len(skeleton) < FEWEST:
        return
    true, far = _keys(reading, skeleton), grows(away(reading, span), 2)
    for other in (*_other_phrases(reading, span), *_variations(reading, span, skeleton)):
        theirs = _keys(reading, _skeleton(reading, other.span), other.moved)
        if len(theirs) < FEWEST or theirs == true or _holds(_keys(reading, other.span.indexes, other.moved), true):
            continue
        alike = SequenceMatcher(None, true, theirs, autojunk=False).ratio()
        difficulty = held_to_scale(0.05 + 0.65 * alike + 0.15 * grows(len(true) - FEWEST, 4) + 0.15 * far)
        make = partial(_which_page, reading, phrase, span, other, difficulty)
        yield Spot("which_page", phrase, tuple(skeleton), difficulty, make)


def _skeleton(reading: Reading, span: Span) -> list[int]:
    return [i for i in span.indexes if reading.weights.level[i] >= DEPTH]


def _keys(reading: Reading, indexes: Sequence[int], moved: Mapping[int, Pitch] = NOTHING_MOVED) -> list[int]:
    return [(moved.get(i) or reading.line[i].pitch).midi for i in indexes]


def _holds(whole: Sequence[int], part: Sequence[int]) -> bool:
    """Whether the part's keys stand in the whole in their order: then the skeleton would fit that page too."""
    ahead = iter(whole)
    return all(key in ahead for key in part)


def _other_phrases(reading: Reading, span: Span) -> Iterator[OtherPage]:
    others = [other for other in reading.phrases if len(other) <= MOST_TONES and not _meet(other, span)]
    others.sort(key=lambda other: (abs(len(other) - len(span)), abs(other.first - span.first)))
    for other in others[:NEAREST]:
        yield OtherPage(other, NOTHING_MOVED, "the other page is another phrase")


def _meet(one: Span, other: Span) -> bool:
    return one.first <= other.last and other.first <= one.last


def _variations(reading: Reading, span: Span, skeleton: Sequence[int]) -> Iterator[OtherPage]:
    """Each skeleton tone in turn moved by a step or a third in its own key's scale, its ornaments along with it."""
    lowest, highest = min(_keys(reading, span.indexes)), max(_keys(reading, span.indexes))
    for place, index in enumerate(skeleton):
        until = skeleton[place + 1] if place + 1 < len(skeleton) else span.last + 1
        group = range(index, until)
        for steps in (-2, -1, 1, 2):
            moved = {i: moved_in_key(reading, i, steps) for i in group}
            if all(lowest <= pitch.midi <= highest for pitch in moved.values()):
                yield OtherPage(span, moved, f"in the other page tone {place + 1} of the skeleton was moved")


def _which_page(
    reading: Reading,
    phrase: int,
    span: Span,
    other: OtherPage,
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    pages = [OtherPage(span, NOTHING_MOVED, ""), other]
    rng.shuffle(pages)
    skeletons = [layer_sound(reading, build(reading, "skeleton", p.span, DEPTH), p.moved) for p in pages]
    right = pages.index(next(p for p in pages if not p.why))
    one, two = (_keys(reading, p.span.indexes, p.moved) for p in pages)
    names = names_in(reading.home.key, naming)
    varied = pages[0].span == pages[1].span
    words = ("the first page", "the second page")
    return Question(
        kind="which_page",
        item="question:which_page",
        phrase=phrase,
        about=tuple(_skeleton(reading, span)),
        words="A skeleton sounded, then two pages: to which of them does it belong?",
        sound=(
            Part("the skeleton", skeletons[right]),
            *(Part(name, page(reading, p.span, p.moved)) for name, p in zip(words, pages, strict=True)),
        ),
        answers=tuple(
            Answer(str(k + 1), name, sound) for k, (name, sound) in enumerate(zip(words, skeletons, strict=True))
        ),
        right=right,
        difficulty=difficulty,
        because=f"{words[right]} has that skeleton, and {other.why}",
        by_tones=where_pages_differ(one, two, names) if varied else by_their_tones("page", one, two, names),
    )
