"""Looking at another part, tune or excerpt carries nothing off: each has a kept file of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from earloop.reading import Decisions
from earloop.scores import load_line
from earloop.scores.kept_pages import page_word, present_place
from earloop.scores.kept_reading import KeptReading

TWO = """X:1
T:Pair
M:4/4
L:1/4
K:C
V:1 name="Flute"
c d e f | g a b c' | c' b a g |]
V:2 name="Viola"
C E D F | E G F A | G B A C |]
"""


@pytest.fixture
def score(tmp_path: Path) -> Path:
    path = tmp_path / "pair.abc"
    path.write_text(TWO, encoding="utf-8")
    return path


def kept(score: Path, **wanted) -> KeptReading:
    return KeptReading(score, load_line(score, **wanted), score.parent / "data", word=page_word(**wanted))


def decide(score: Path, decided: Decisions, **wanted) -> None:
    one = kept(score, **wanted)
    one.save(decided)
    one.close()


def test_each_part_keeps_its_own(score: Path) -> None:
    """There and back again: nothing is carried from one to the other, nothing waits, no copies are made."""
    flute, viola = Decisions(levels={3: 5}, words={7: "far bell"}), Decisions(voices={1: "upper"})
    decide(score, flute)
    decide(score, viola, part=2)
    for wanted, decided in (({}, flute), ({"part": 2}, viola), ({}, flute)):
        again = kept(score, **wanted)
        assert again.decided == decided
        again.close()
    names = sorted(path.name for path in score.parent.glob("*.toml"))
    assert names == ["pair.abc.earloop.toml", "pair.abc.part-2.earloop.toml"]


@pytest.mark.parametrize(
    ("first", "then"), [({}, {"part": 1}), ({"part": 1}, {}), ({"part": "Flute"}, {}), ({}, {"part": "Flute"})]
)
def test_the_part_taken_by_default_is_the_same_under_its_number_or_name(score: Path, first: dict, then: dict) -> None:
    decide(score, Decisions(levels={3: 5}), **first)
    assert kept(score, **then).decided == Decisions(levels={3: 5})


def test_an_excerpt_starts_from_the_whole_and_leaves_it_alone(score: Path) -> None:
    whole = Decisions(levels={1: 4, 5: 5}, words={10: "far bell"})
    decide(score, whole)
    part = kept(score, first_measure=2, last_measure=2)
    assert part.decided == Decisions(levels={1: 5})
    assert any("pair.abc.bars-2-2.earloop.toml" in note for note in part.notes)
    part.save(Decisions(levels={0: 1}))
    part.close()
    assert kept(score).decided == whole


def test_what_is_kept_is_found_without_writing(score: Path) -> None:
    decide(score, Decisions(levels={3: 5}), part=2)
    line = load_line(score, part=2)
    assert present_place(score, line, "part-2") == score.with_name("pair.abc.part-2.earloop.toml")
    assert present_place(score, load_line(score), "") is None


@pytest.mark.parametrize(
    ("wanted", "word"),
    [
        ({}, ""),
        ({"part": 2}, "part-2"),
        ({"part": "Violin I/II ../x"}, "part-violin-i-ii-x"),
        ({"tune": "Ä"}, "tune-ä"),
        ({"part": "//"}, "part-x"),
        ({"first_measure": 5, "last_measure": 8}, "bars-5-8"),
        ({"last_measure": 8, "unfold_repeats": True}, "bars--8.played-out"),
    ],
)
def test_a_choice_is_a_word_that_a_file_may_be_called_by(wanted: dict, word: str) -> None:
    assert page_word(**wanted) == word
