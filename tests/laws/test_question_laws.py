"""Laws of the questions: one right answer, told apart by ear; nothing sounds but the line, save a planted change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest
from hand_records import library
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.coaching.passages import MOST_TONES, passage, stretches
from earloop.coaching.question import QUESTION_KINDS, Question, Spot, by_number
from earloop.coaching.questions import QUESTIONS, spots_of
from earloop.coaching.sounds import one_after_another
from earloop.layers import build
from earloop.line import Line
from earloop.reading import Decisions, Reading, read
from earloop.transport.moments import check
from tests.made_lines import lines

VOICES = st.sampled_from(("upper", "lower", "lower", "middle", "single"))
FEW = 3
"""Spots of each kind that are made into questions for one made line."""


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    """Any line, read as proposed or with lines given out at random; in phrases, or as one long one."""
    line: Line = replace(draw(lines(50)), spelled=draw(st.booleans()))
    voices = {i: draw(VOICES) for i in range(len(line))} if draw(st.booleans()) else {}
    ends = dict.fromkeys(range(len(line) - 1), False) if draw(st.booleans()) else {}
    return read(line, Decisions(voices=voices, phrase_ends=ends))


def questions(reading: Reading, seed: int, few: int | None = None) -> Iterator[tuple[Spot, Question]]:
    """Questions on every phrase: all of them, or a few of each kind."""
    rng = Random(seed)
    for phrase in range(len(reading.phrases)):
        for entry in QUESTIONS:
            spots = list(entry.spots(reading, phrase))
            for spot in spots if few is None else rng.sample(spots, min(few, len(spots))):
                yield spot, spot.make(rng, by_number)


def keys_of(question: Question, part: int) -> list[int]:
    return [event.midi for event in question.sound[part].performance.events]


def holds(reading: Reading, spot: Spot, question: Question) -> None:
    """What every question promises."""
    assert (question.kind, question.phrase, question.about) == (spot.kind, spot.phrase, spot.about)
    assert 0 <= question.difficulty == spot.difficulty <= 1
    assert 0 <= question.right < len(question.answers) > 1
    assert len({answer.key for answer in question.answers}) == len(question.answers)
    assert len({answer.words for answer in question.answers}) == len(question.answers)
    named = [answer.pitch.pc for answer in question.answers if answer.pitch is not None]
    if question.kind != "changed_tone":
        assert len(named) == len(set(named)), "two answers sound alike"
    if question.by_tones is not None:
        assert len(question.by_tones.tunes) == len(question.answers)
        assert len(question.by_tones.names) == 12
    whole, _ = one_after_another(question.sound)
    check(whole)
    for answer in question.answers:
        check(answer.sound)
    assert {event.strand for event in whole.events} <= {"single"}, "no timbre may tell"
    nothing_foreign_sounds(reading, question)
    ITS_OWN[question.kind](reading, question)


def nothing_foreign_sounds(reading: Reading, question: Question) -> None:
    """Each sounding is a tone of the line at its pitch; a changed skeleton differs in one, a varied page in a group."""
    moved = [
        (event.source, event.midi)
        for part in question.sound
        for event in part.performance.events
        if event.source is None or event.midi != reading.line[event.source].midi
    ]
    assert all(source is not None for source, _ in moved)
    if question.kind == "changed_tone":
        assert [source for source, _ in moved] == list(question.about)
    elif question.kind != "which_page":
        assert not moved


def which_degree(reading: Reading, question: Question) -> None:
    (index,) = question.about
    assert keys_of(question, -1) == [reading.line[index].midi]
    assert question.right_answer.pitch is not None
    assert question.right_answer.pitch.pc == reading.line[index].pitch.pc
    home, local = str(reading.degrees[index]), str(reading.local_degrees[index])
    assert question.right_answer.words == (local if "own little key" in question.words else home)
    if home != local:
        assert "home key" in question.words or "own little key" in question.words


def which_line(reading: Reading, question: Question) -> None:
    name = question.right_answer.words.split()[1]
    span = next(span for span in stretches(reading, question.phrase) if set(question.about) <= set(span.indexes))
    assert keys_of(question, -1) == [tone.pitch.midi for tone in build(reading, name, span).tones]
    sounds = [[event.midi for event in answer.sound.events] for answer in question.answers]
    assert sounds[0] != sounds[1]


def lean_way(reading: Reading, question: Question) -> None:
    lean, release = question.about
    down = reading.line[release].midi < reading.line[lean].midi
    assert question.right_answer.words == ("down" if down else "up")
    last = question.sound[-1].performance.events[-1].source
    assert last == (release if question.words.startswith("Did") else lean)
    for answer in question.answers:
        first, second = (event.midi for event in answer.sound.events)
        assert second != first
        assert (second < first) == (answer.words == "down")


def changed_tone(reading: Reading, question: Question) -> None:
    (index,) = question.about
    changed = question.sound[-1].performance.events
    kept = [event.source for event in changed]
    assert kept[question.right] == index
    assert len(kept) == len(question.answers)
    other = changed[question.right].midi
    low, high = (f(reading.line[i].midi for i in reading.phrases[question.phrase].indexes) for f in (min, max))
    assert low <= other <= high
    assert other != reading.line[index].midi


def sing_held(reading: Reading, question: Question) -> None:
    held, last = question.about
    assert question.right_answer.pitch is not None
    assert question.right_answer.pitch.pc == reading.line[held].pitch.pc
    assert question.sound[-1].performance.events[-1].source == last
    assert build(reading, "held", reading.phrases[question.phrase]).depth > reading.weights.level[last]
    assert [event.midi for event in question.right_answer.sound.events if event.strand == "held"] == [
        question.right_answer.pitch.midi
    ]


def next_lower(reading: Reading, question: Question) -> None:
    first, second = question.about
    assert question.item == f"link:{first}-{second}"
    assert question.sound[-1].performance.events[-1].source == second - 1
    lower = [i for i in range(first, second + 1) if reading.voices[i] in ("lower", "single")]
    assert lower == [first, second]
    assert question.right_answer.pitch == reading.line[second].pitch or not reading.line.spelled


def where_home(reading: Reading, question: Question) -> None:
    (tonic,) = question.about
    local = {key.key.pc for key in reading.local}
    pcs = {reading.home.key.pc} if "own little key" not in question.words else local
    assert reading.line[tonic].pitch.pc in pcs
    after = [keys_of(question, part) for part in range(1, len(question.sound))]
    assert [[answer.pitch.midi] for answer in question.answers if answer.pitch] == after


def which_page(reading: Reading, question: Question) -> None:
    skeleton, pages = keys_of(question, 0), [keys_of(question, 1), keys_of(question, 2)]
    fits = [within(skeleton, page) for page in pages]
    assert fits[question.right]
    assert not fits[1 - question.right], "the skeleton must not fit the other page"


def within(part: list[int], whole: list[int]) -> bool:
    ahead = iter(whole)
    return all(key in ahead for key in part)


ITS_OWN = {
    "which_degree": which_degree,
    "which_line": which_line,
    "lean_way": lean_way,
    "changed_tone": changed_tone,
    "sing_held": sing_held,
    "next_lower": next_lower,
    "where_home": where_home,
    "which_page": which_page,
}


@settings(max_examples=25)
@given(readings(), st.integers(0, 999))
def test_every_question_on_any_line_keeps_its_promises(reading: Reading, seed: int) -> None:
    for spot, question in questions(reading, seed, FEW):
        holds(reading, spot, question)


@pytest.mark.parametrize("record", library(), ids=lambda record: record.name)
def test_every_question_on_the_library_keeps_its_promises(record) -> None:
    reading = read(record.line)
    kinds = set()
    for spot, question in questions(reading, 5, 5):
        holds(reading, spot, question)
        kinds.add(question.kind)
    assert {"where_home", "which_degree", "changed_tone", "which_page"} <= kinds
    assert ("which_line" in kinds) == ("next_lower" in kinds) == reading.compound


@given(readings())
def test_stretches_cover_a_phrase_and_passages_lie_in_it(reading: Reading) -> None:
    for phrase, whole in enumerate(reading.phrases):
        covered = stretches(reading, phrase)
        assert [i for span in covered for i in span.indexes] == list(whole.indexes)
        assert all(len(span) <= MOST_TONES for span in covered)
        for index in whole.indexes:
            span = passage(reading, phrase, index)
            assert index in span
            assert whole.first <= span.first <= span.last <= whole.last
            assert len(span) <= MOST_TONES


@settings(max_examples=10)
@given(readings(), st.integers(0, 999))
def test_the_same_seed_asks_the_same(reading: Reading, seed: int) -> None:
    spots = spots_of(reading, 0)[:20]
    once, again = ([spot.make(Random(seed), by_number) for spot in spots] for _ in range(2))
    assert once == again


@settings(max_examples=10)
@given(readings(), st.integers(0, 999), st.sampled_from(((1, 2), (-2, -3), (4, 7), (-7, -12), (0, 1))))
def test_a_transposed_line_asks_the_same(reading: Reading, seed: int, move: tuple[int, int]) -> None:
    """Words, answers and difficulty stay; every sounding is moved by the same interval. Reading commutes (law 1)."""
    decided = Decisions(voices=dict(enumerate(reading.voices)))
    here, there = read(reading.line, decided), read(reading.line.transposed(*move), decided)
    for (_, one), (_, other) in zip(questions(here, seed, 1), questions(there, seed, 1), strict=True):
        assert (one.kind, one.about, one.right, one.difficulty) == (
            other.kind,
            other.about,
            other.right,
            other.difficulty,
        )
        assert [a.key for a in one.answers] == [a.key for a in other.answers]
        for part, moved in zip(one.sound, other.sound, strict=True):
            pairs = zip(part.performance.events, moved.performance.events, strict=True)
            assert {b.midi - a.midi for a, b in pairs} == {move[1]}


def test_the_table_holds_every_kind_once() -> None:
    assert [entry.kind for entry in QUESTIONS] == list(QUESTION_KINDS)
    assert set(ITS_OWN) == set(QUESTION_KINDS)
