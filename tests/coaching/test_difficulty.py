"""Difficulty grows with the distances of the reading: tones between, time, keys, depth."""

from __future__ import annotations

from itertools import pairwise
from random import Random
from typing import Any

import pytest

from earloop.coaching.difficulty import grows, keys_apart, lightness
from earloop.coaching.question import QUESTION_KINDS, QuestionKind, by_number
from earloop.coaching.questions import spots_of
from earloop.line import Span
from earloop.reading import Decisions, Key, Reading, read
from tests.made_lines import line_of

C = Key(0)


def hardest(reading: Reading, kind: QuestionKind, about: tuple[int, ...]) -> float:
    return max(spot.difficulty for spot in spots_of(reading, 0, (kind,)) if spot.about == about)


def woven(between: int, length: float = 1.0) -> Reading:
    """A lower line C D interrupted by so many upper tones, then a close."""
    names = "C4 " + "E5 F5 G5 F5 E5 "[: 3 * between] + "D4 E5 C4"
    lengths = " ".join(["1", *[str(length)] * between, "1", "1", "4"])
    size = between + 4
    voices = {i: "lower" if i in (0, between + 1, between + 3) else "upper" for i in range(size)}
    ends = dict.fromkeys(range(size - 1), False)
    links = {(0, between + 1): True}
    return read(line_of(names, lengths), Decisions(voices=voices, phrase_ends=ends, home=C, links=links))


def test_a_farther_link_is_harder() -> None:
    by_tones = [hardest(woven(k), "next_lower", (0, k + 1)) for k in (1, 2, 3, 5)]
    assert all(a < b for a, b in pairwise(by_tones))
    by_time = [hardest(woven(2, length), "next_lower", (0, 3)) for length in (0.5, 1.0, 2.0)]
    assert all(a < b for a, b in pairwise(by_time))


@pytest.mark.parametrize(
    ("other", "distance"),
    [(Key(0), 0), (Key(1), 1), (Key(-1), 1), (Key(4), 4), (Key(3, "minor"), 1), (Key(0, "minor"), 4)],
    ids=["C major", "G major", "F major", "E major", "A minor", "C minor"],
)
def test_keys_stand_as_far_apart_as_their_signatures(other: Key, distance: int) -> None:
    """The circle of fifths (any harmony handbook); a change of mode counts one more (by judgement)."""
    assert keys_apart(C, other) == keys_apart(other, C) == distance


def test_a_degree_in_a_far_key_is_harder_than_in_a_near_one() -> None:
    line = line_of("C4 D4 E4 C4 D4 E4 D4 C4", "1 1 1 2 1 1 1 4")
    ends = dict.fromkeys(range(7), False)
    difficulties = []
    for key in (Key(1), Key(3), Key(5)):
        decided = Decisions(home=C, phrase_ends=ends, gesture_ends={3: True}, local=((Span(4, 7), key),))
        difficulties.append(hardest(read(line, decided), "which_degree", (4,)))
    assert all(a < b for a, b in pairwise(difficulties))


def test_a_lighter_tone_is_harder() -> None:
    line = line_of("C4 D4 E4 C4 D4 E4 D4 C4", "1 1 1 2 1 1 1 4")
    ends = dict.fromkeys(range(7), False)
    heavy, light = (read(line, Decisions(home=C, phrase_ends=ends, levels={5: level})) for level in (5, 0))
    assert lightness(heavy, 5) < lightness(light, 5)
    assert hardest(heavy, "which_degree", (5,)) < hardest(light, "which_degree", (5,))


def test_a_lean_heard_ahead_is_harder_than_one_released() -> None:
    line = line_of("C4 E4 D4 C4", "1 1 2 1")
    reading = read(line, Decisions(home=C, phrase_ends=dict.fromkeys(range(3), False), leans={2: 3}))
    told = {spot.difficulty for spot in spots_of(reading, 0, ("lean_way",))}
    assert len(told) == 2


def test_growth_is_steep_at_first() -> None:
    steps = [grows(value, 2) for value in range(8)]
    assert steps[0] == 0
    assert steps[2] == 0.5
    assert all(b - a > d - c > 0 for (a, b), (c, d) in pairwise(pairwise(steps)))


WOVEN_IN = "C4 E5 D4 F5 E4 G5 A5 G5 F4 F5 D4 E5 C4 C5"
LINES = "LULULUUULULULU"


def in_its_own_key(key: Key) -> Reading:
    """Two lines with a lean over a held tone, all in one gesture of that key; home is C. It supports every kind."""
    size = len(LINES)
    between = dict.fromkeys(range(size - 1), False)
    decided = Decisions(
        voices={i: "lower" if sign == "L" else "upper" for i, sign in enumerate(LINES)},
        phrase_ends=between,
        gesture_ends=between,
        home=C,
        local=((Span(0, size - 1), key),),
        levels={0: 5, 5: 5, 6: 0, 7: 0, 12: 5, 13: 5},
        leans={6: 7},
        links={(0, 2): True},
    )
    return read(line_of(WOVEN_IN), decided)


def hardest_of_each(reading: Reading, kind: QuestionKind) -> dict[tuple[int, ...], float]:
    found: dict[tuple[int, ...], float] = {}
    for spot in spots_of(reading, 0, (kind,)):
        found[spot.about] = max(spot.difficulty, found.get(spot.about, 0.0))
    return found


@pytest.mark.parametrize("kind", QUESTION_KINDS)
def test_in_every_kind_a_farther_local_key_is_harder(kind: QuestionKind) -> None:
    """G, A and B major lie one, three and five signs from home: about the same tones nothing asked gets easier."""
    near, far, farthest = (hardest_of_each(in_its_own_key(Key(fifths)), kind) for fifths in (1, 3, 5))
    common = near.keys() & far.keys() & farthest.keys()
    assert common
    assert all(near[about] <= far[about] <= farthest[about] for about in common)
    assert any(near[about] < far[about] < farthest[about] for about in common)


def one_phrase(names: str, **decided: Any) -> Reading:
    line = line_of(names)
    return read(line, Decisions(home=C, phrase_ends=dict.fromkeys(range(len(line) - 1), False), **decided))


def test_lines_nearer_to_each_other_are_harder_to_tell() -> None:
    told = []
    for octave in (2, 3, 4):
        names = " ".join(f"{low}{octave} {high}5" for low, high in zip("CDEDC", "EFGFE", strict=True))
        voices = {i: "upper" if i % 2 else "lower" for i in range(10)}
        told.append([spot.difficulty for spot in spots_of(one_phrase(names, voices=voices), 0, ("which_line",))])
    assert all(len(row) == 4 for row in told)
    assert all(max(a) < max(b) and min(a) < min(b) for a, b in pairwise(told))


def test_home_is_harder_to_find_where_the_phrase_ends_elsewhere_or_leaves_it_out() -> None:
    at_home, elsewhere = (one_phrase(names) for names in ("C4 E4 G4 E4 D4 C4", "C4 E4 G4 E4 C4 D4"))
    ends = {0: False, 1: False, 2: True, 3: False, 4: False, 5: False, 6: False}
    without = read(line_of("C4 E4 C4 E4 G4 F4 E4 D4"), Decisions(home=C, phrase_ends=ends))
    told = [
        max(spot.difficulty for spot in spots_of(reading, phrase, ("where_home",)))
        for reading, phrase in ((at_home, 0), (elsewhere, 0), (without, 1))
    ]
    assert told[0] < told[1] < told[2]


def test_more_tones_of_a_skeleton_are_harder_and_so_is_a_step_than_a_third() -> None:
    names = "C4 D4 E4 F4 G4 A4 G4 F4 E4 D4 C4"
    few, many = (
        one_phrase(names, levels={i: 5 if i in kept else 0 for i in range(11)})
        for kept in ((0, 4, 10), (0, 2, 4, 5, 6, 8, 10))
    )
    assert hardest(few, "changed_tone", (4,)) < hardest(many, "changed_tone", (4,))
    told = {spot.difficulty for spot in spots_of(few, 0, ("changed_tone",)) if spot.about == (4,)}
    assert len(told) == 4, "a step or a third, after the skeleton or after the page"


def test_a_longer_ornament_hides_its_held_tone_better() -> None:
    told = []
    for count in (1, 2, 4):
        names = "C4 E4 " + "F4 D4 F4 D4 "[: 3 * count] + "G4 C4"
        size = count + 4
        levels = {i: 0 if 1 < i < size - 2 else 5 for i in range(size)}
        reading = one_phrase(names, levels=levels)
        spots = [spot for spot in spots_of(reading, 0, ("sing_held",)) if spot.about[0] == 1]
        assert [spot.about[1] for spot in spots] == [1 + count]
        told.append(spots[0].difficulty)
    assert told[0] < told[1] < told[2]


def test_pages_more_alike_are_harder_to_tell() -> None:
    """Another phrase that shares nothing is plain; the same phrase with one tone moved is not."""
    ends = {i: i == 5 for i in range(11)}
    reading = read(
        line_of("C4 D4 E4 F4 E4 C4 A5 G5 B5 A5 C6 B5"),
        Decisions(home=C, phrase_ends=ends, levels=dict.fromkeys(range(12), 5)),
    )
    spots = spots_of(reading, 0, ("which_page",))
    other = [spot.difficulty for spot in spots if "another phrase" in spot.make(Random(1), by_number).because]
    varied = [spot.difficulty for spot in spots if "was moved" in spot.make(Random(1), by_number).because]
    assert len(other) == 1
    assert varied
    assert max(other) < min(varied)
