"""Two readings of one line: where they differ, how far they agree, and taking over what the other says."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Span
from earloop.reading import NONE_DECIDED, Decisions, Key, read
from earloop.reading.agreement import agreement
from earloop.reading.differences import Difference, differences
from earloop.reading.differences_told import in_short, told
from earloop.reading.take_over import with_all_taken, with_taken
from tests.laws.test_reading_laws import decided_lines
from tests.made_lines import line_of

LINE = line_of("G3 B4 A3 C5 B3 D5 C4 A4 G4 B3 A3 G3", "1 1 1 1 1 1 2 1 3 1 1 2")


@settings(max_examples=60, deadline=None)
@given(decided_lines())
def test_a_reading_does_not_differ_from_itself(case: tuple[Line, Decisions]) -> None:
    line, decided = case
    reading = read(line, decided)
    assert differences(reading, reading) == ()
    assert all(figure.equal == figure.of for figure in agreement(reading, reading, 2))


@settings(max_examples=60, deadline=None)
@given(decided_lines(), st.data())
def test_all_taken_over_gives_the_others_reading(case: tuple[Line, Decisions], data: st.DataObject) -> None:
    line, mine = case
    others = Decisions(levels={data.draw(st.integers(0, len(line) - 1)): 5}, words={0: "far bell"})
    taken = with_all_taken(mine, others)
    assert read(line, taken) == read(line, others)
    assert differences(read(line, taken), read(line, others)) == ()


@settings(max_examples=60, deadline=None)
@given(decided_lines(), st.data())
def test_sides_are_turned_round_with_the_readings(case: tuple[Line, Decisions], data: st.DataObject) -> None:
    """What I hear and the other doesn't is what the other doesn't hear and I do, at the same places."""
    line, decided = case
    one, two = read(line, decided), read(line)
    there, back = differences(one, two), differences(two, one)
    assert [(d.what, d.mine, d.other) for d in there] == [(d.what, d.other, d.mine) for d in back]
    for figure, turned in zip(agreement(one, two, 3), agreement(two, one, 3), strict=True):
        assert (figure.equal, figure.of) == (turned.equal, turned.of)


@settings(max_examples=80, deadline=None)
@given(decided_lines(), st.data())
def test_one_taken_over_is_no_difference_any_more(case: tuple[Line, Decisions], data: st.DataObject) -> None:
    """Or it can't be had with what else I decided, and then nothing of mine is touched."""
    line, mine = case
    others = Decisions(
        levels=data.draw(st.dictionaries(st.integers(0, len(line) - 1), st.integers(0, 5), max_size=2)),
        voices=data.draw(
            st.dictionaries(st.integers(0, len(line) - 1), st.sampled_from(("upper", "lower")), max_size=2)
        ),
    )
    other = read(line, others)
    found = differences(read(line, mine), other)
    if not found:
        return
    one = data.draw(st.sampled_from(found))
    taken = with_taken(partial(read, line), mine, other, others, one)
    left = [d.what for d in differences(read(line, taken), other)]
    assert one.what not in left or taken == mine


OTHERS = {
    "level": Decisions(levels={3: 5}),
    "line": Decisions(voices={3: "lower"}),
    "decorates": Decisions(decorates={2: 5}),
    "phrase": Decisions(phrase_ends={4: True}),
    "gesture": Decisions(gesture_ends={4: True}),
    "home": Decisions(home=Key(-3, "minor")),
    "local": Decisions(local=((Span(0, 6), Key(4, "major")),)),
    "lean": Decisions(leans={1: 3}),
    "link": Decisions(links={(1, 8): True}),
    "bridge": Decisions(bridges={7: True}),
    "word": Decisions(words={4: "far bell"}),
}


@pytest.mark.parametrize("kind", OTHERS)
def test_each_kind_is_found_told_and_taken_over(kind: str) -> None:
    """Against the proposal: the decision shows, both sides are in the sentence, and it can be taken over."""
    other = read(LINE, OTHERS[kind])
    found = [d for d in differences(read(LINE), other) if d.kind == kind]
    sentence = told(LINE, found[0])
    assert "you " in sentence
    assert "the other " in sentence
    assert sentence.endswith(".")
    assert OTHERS[kind] in [with_taken(partial(read, LINE), NONE_DECIDED, other, OTHERS[kind], one) for one in found]


@pytest.mark.parametrize("kind", OTHERS)
def test_taking_over_the_proposal_forgets_the_decision(kind: str) -> None:
    """Where the other side is the proposal, nothing is left decided."""
    mine = OTHERS[kind]
    found = [d for d in differences(read(LINE, mine), read(LINE)) if d.kind == kind]
    assert NONE_DECIDED in [with_taken(partial(read, LINE), mine, read(LINE), NONE_DECIDED, one) for one in found]


@pytest.mark.parametrize(
    ("difference", "said", "short"),
    [
        (
            Difference("level", 3, 3, 4, 2),
            "tone 4 (C5): you keep it in the skeleton to depth 4, the other lets it go after depth 2.",
            ("4", "skeleton", "depth 4", "depth 2"),
        ),
        (
            Difference("level", 3, 3, 0, 1),
            "tone 4 (C5): you leave it to the page alone, the other keeps it in the skeleton to depth 1.",
            ("4", "skeleton", "page only", "depth 1"),
        ),
        (
            Difference("line", 0, 0, "single", "lower"),
            "tone 1 (G3): you hear one line only, the other gives it to the lower line.",
            ("1", "line", "single", "lower"),
        ),
        (
            Difference("link", 1, 8, True, False),
            "tone 2 (B4) and tone 9 (G4): you link them, the other keeps them apart.",
            ("2-9", "link", "yes", "no"),
        ),
        (
            Difference("lean", 7, 7, 8, None),
            "tone 8 (A4): you hear it lean and release to tone 9 (G4), the other hears no lean.",
            ("8", "lean", "to 9", "none"),
        ),
        (
            Difference("home", 0, 0, Key(1), Key(4, "minor")),
            "the whole line: you hear G major, the other hears E minor.",
            ("all", "home key", "G major", "E minor"),
        ),
        (
            Difference("word", 4, 4, "", "far bell"),
            'tone 5 (B3): you write none over it, the other writes "far bell" over it.',
            ("5", "word", "none", "far bell"),
        ),
    ],
)
def test_both_sides_stand_in_one_plain_sentence(difference: Difference, said: str, short: tuple[str, ...]) -> None:
    assert told(LINE, difference) == said
    assert in_short(difference) == short


def test_another_name_speaks_in_the_third_person() -> None:
    one = Difference("bridge", 7, 7, False, True)
    assert told(LINE, one, "the morning", "the evening") == (
        "tone 8 (A4): the morning sets no bridge, the evening sets a bridge before it."
    )


def test_figures_count_as_jaccard_did() -> None:
    """Of the ends that either reading sets, those both set: equal / of, as sets alone give it (Jaccard 1912)."""
    one = replace(read(LINE), phrases=(Span(0, 3), Span(4, 6), Span(7, 11)))
    two = replace(read(LINE), phrases=(Span(0, 3), Span(4, 8), Span(9, 11)))
    figure = next(f for f in agreement(one, two, 2) if f.name == "phrase ends")
    assert (figure.equal, figure.of, figure.numbers) == (1, 3, "1 of 3")
    assert figure.share == len({3, 6} & {3, 8}) / len({3, 6} | {3, 8})


def test_where_neither_has_any_no_share_is_claimed() -> None:
    one = replace(read(LINE), leans=())
    figure = next(f for f in agreement(one, one, 2) if f.name == "leans")
    assert (figure.share, figure.numbers) == (None, "none in either")


def test_a_degree_in_another_key_is_another_degree() -> None:
    """With the home moved by a fifth no tone keeps its degree."""
    figures = {f.name: f for f in agreement(read(LINE, Decisions(home=Key(1))), read(LINE, Decisions(home=Key(2))), 2)}
    assert (figures["degrees at home"].equal, figures["degrees at home"].of) == (0, 12)


def test_readings_of_other_lines_are_refused() -> None:
    with pytest.raises(ValueError, match="one line"):
        differences(read(LINE), read(LINE.cut(Span(0, 5))))
    with pytest.raises(ValueError, match="one line"):
        agreement(read(LINE), read(LINE.cut(Span(0, 5))), 2)
