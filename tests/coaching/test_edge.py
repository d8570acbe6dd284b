"""What is asked next: the weighted up-down rule, the choice of a kind, the spell and its summary.

Source: Kaernbach 1991 (Perception & Psychophysics 49): with steps of one up and three down the level settles where
three of four answers are right.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp
from random import Random

import pytest

from earloop.coaching.edge import START, STEP_DOWN, STEP_UP, Result, choose, level_of, shakiness
from earloop.coaching.question import QUESTION_KINDS, Spot
from earloop.coaching.spell import Spell
from earloop.reading import read
from tests.made_lines import line_of


def spot(kind, difficulty: float, tone: int = 0) -> Spot:
    return Spot(kind, 0, (tone,), difficulty, lambda rng, naming: pytest.fail("not made"))


@pytest.mark.parametrize("knows", [0.35, 0.55, 0.75])
def test_the_level_settles_where_three_of_four_are_right(knows: float) -> None:
    """A listener whose chance falls from 1 to 0 around a difficulty is led to where the chance is 3/4."""
    rng = Random(1)
    results: list[Result] = []
    levels = []
    for _ in range(600):
        level = level_of(results[-200:], "lean_way")
        chance = 1 / (1 + exp((level - knows) / 0.08))
        results.append(Result("lean_way", level, rng.random() < chance))
        levels.append(level)
    settled = levels[200:]
    share = sum(result.right for result in results[200:]) / len(settled)
    assert share == pytest.approx(0.75, abs=0.05)
    assert sum(settled) / len(settled) == pytest.approx(knows - 0.08 * 1.0986, abs=0.08)


def test_answers_far_from_the_level_tell_nothing() -> None:
    easy = [Result("lean_way", 0.0, True)] * 40
    assert level_of(easy, "lean_way") <= START + 4 * STEP_UP
    assert level_of([Result("lean_way", 1.0, False)] * 5, "lean_way") == START
    assert level_of([Result("where_home", 0.2, False)] * 5, "lean_way") == START
    assert pytest.approx(STEP_DOWN) == 3 * STEP_UP


def test_the_nearest_to_the_level_is_asked() -> None:
    spots = [spot("lean_way", d / 20, d) for d in range(21)]
    past = [Result("lean_way", level, True) for level in (0.2, 0.26, 0.32, 0.38, 0.44)]
    level = level_of(past, "lean_way")
    for seed in range(20):
        found = choose(spots, past, None, Random(seed))
        assert found is not None
        assert abs(found.difficulty - level) <= 0.1


def test_the_shaky_kind_comes_more_often_and_none_twice_running() -> None:
    spots = [spot("lean_way", 0.2), spot("where_home", 0.2), spot("which_line", 0.2)]
    past = [Result("lean_way", 0.2, True)] * 8 + [Result("where_home", 0.2, False)] * 8
    assert shakiness(past, "where_home") == shakiness(past, "which_line") == 1 > shakiness(past, "lean_way")
    counts = dict.fromkeys(QUESTION_KINDS, 0)
    before = None
    rng = Random(3)
    for _ in range(300):
        found = choose(spots, past, before, rng)
        assert found is not None
        assert found.kind != before
        before = found.kind
        counts[before] += 1
    assert counts["lean_way"] < counts["where_home"]
    assert choose(spots[:1], past, "lean_way", rng) is spots[0]
    assert choose([], past, None, rng) is None


LINE = line_of("C4 E4 D4 C4 E4 G4 F4 E4 D4 C4", "1 1 2 2 1 1 2 1 1 4")


def test_a_spell_asks_as_many_as_wished_and_sums_up_in_two_sentences() -> None:
    spell = Spell(read(LINE), [0], Random(1), count=5)
    kinds = []
    while (question := spell.next()) is not None:
        kinds.append(question.kind)
        spell.note(question, question.kind != "which_degree")
    assert len(kinds) == 5
    assert all(a != b for a, b in pairwise(kinds))
    said = spell.summary()
    assert said.count(". ") == 1
    assert said.endswith(".")
    if "which_degree" in kinds:
        assert "Go back to which degree a tone is (phrase 1)" in said


def test_a_spell_all_right_or_not_answered_says_so() -> None:
    spell = Spell(read(LINE), [0], Random(2), count=1)
    assert spell.summary().startswith("Nothing was answered.")
    question = spell.next()
    assert question is not None
    spell.note(question, True)
    assert spell.summary().endswith("There is nothing here to go back to.")


def test_no_place_is_asked_twice_while_others_are_left() -> None:
    reading = read(LINE)
    spell = Spell(reading, range(len(reading.phrases)), Random(4), kinds=("which_degree",), count=len(LINE))
    asked = []
    while (question := spell.next()) is not None:
        asked.append(question.about)
    assert len(asked) == len(set(asked)) == len(LINE)
