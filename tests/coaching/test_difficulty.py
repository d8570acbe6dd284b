"""Difficulty grows with the distances of the reading: tones between, time, keys, depth."""

from __future__ import annotations

from itertools import pairwise

import pytest

from earloop.coaching.difficulty import grows, keys_apart, lightness
from earloop.coaching.question import QuestionKind
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
