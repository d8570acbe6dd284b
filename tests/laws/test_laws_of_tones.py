"""Laws of answers sung or played: the right tone is the right answer, a wrong answer's tone that wrong answer, in any
octave; every other tone is told calmly and not judged. What is right is taken from the line and what sounded, never
from the table under test.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from random import Random

import pytest
from hand_records import CORPUS, library
from hypothesis import given, settings
from hypothesis import strategies as st
from test_question_laws import keys_of, questions, readings

from earloop.coaching.answering import by_tones
from earloop.coaching.by_tones import may_go_on, meant
from earloop.coaching.passages import stretches
from earloop.coaching.question import QUESTION_KINDS, Question, Tune
from earloop.layers import build
from earloop.reading import Reading, read
from earloop.scores import load_line

PIECES = (
    ("corelli/opus3no1/1grave.xml", {}),
    ("bach/bwv66.6.mxl", {}),
    ("beethoven/opus18no1/movement4.mxl", {"last_measure": 8}),
)
Given = tuple[int, ...]


def of_each_answer(reading: Reading, question: Question) -> list[Given]:
    """Where an answer names a tone, or its sound ends with one: that tone."""
    return [(answer.sound.events[-1].midi,) for answer in question.answers]


def of_pitches(reading: Reading, question: Question) -> list[Given]:
    return [(answer.pitch.midi,) for answer in question.answers if answer.pitch is not None]


def of_lines(reading: Reading, question: Question) -> list[Given]:
    span = next(span for span in stretches(reading, question.phrase) if set(question.about) <= set(span.indexes))
    return by_words(question, [[t.pitch.midi for t in build(reading, name, span).tones] for name in ("upper", "lower")])


def of_pages(reading: Reading, question: Question) -> list[Given]:
    pages = [keys_of(question, part) for part in (1, 2)]
    if "in which the pages differ" in question.by_tones.what:
        first = next(k for k, (a, b) in enumerate(zip(*pages, strict=True)) if a % 12 != b % 12)
        return [(page[first],) for page in pages]
    return by_words(question, pages)


def by_words(question: Question, melodies: list[list[int]]) -> list[Given]:
    """What the words ask for, of each melody."""
    words = question.by_tones.what.split()
    if words[1] == "last":
        return [tuple(melody[-1:]) for melody in melodies]
    if words[1] == "tone":
        pcs = [{key % 12 for key in melody} for melody in melodies]
        return [(next(key for key in melody if key % 12 not in pcs[1 - k]),) for k, melody in enumerate(melodies)]
    count = {"two": 2, "three": 3, "four": 4}.get(words[2], 1)
    return [tuple(melody[:count]) for melody in melodies]


def of_skeletons(reading: Reading, question: Question) -> list[Given]:
    """Each tone with all before it, as they sounded."""
    sounded = keys_of(question, -1)
    return [tuple(sounded[: last + 1]) for last in range(len(sounded))]


GIVEN = {
    "where_home": of_pitches,
    "which_degree": of_pitches,
    "sing_held": of_pitches,
    "next_lower": of_pitches,
    "lean_way": of_each_answer,
    "which_line": of_lines,
    "which_page": of_pages,
    "changed_tone": of_skeletons,
}


def test_the_table_holds_every_kind() -> None:
    assert set(GIVEN) == set(QUESTION_KINDS)


def right_alone(reading: Reading, question: Question) -> list[Given]:
    """The right answer as one would sing it first: the tone of the line that is asked about."""
    match question.kind:
        case "which_degree" | "where_home":
            return [(reading.line[question.about[0]].midi,)]
        case "sing_held":
            return [(reading.line[question.about[0]].midi,)]
        case "next_lower" | "lean_way":
            return [(reading.line[question.about[1]].midi,)]
        case "changed_tone":
            return changed_alone(reading, question)
        case _:
            return []


def changed_alone(reading: Reading, question: Question) -> list[Given]:
    """The changed tone as it sounded and as it should be, where no other tone of the skeleton has that degree."""
    events = question.sound[-1].performance.events
    others = [{e.midi % 12, reading.line[e.source].midi % 12} for k, e in enumerate(events) if k != question.right]
    alone = {events[question.right].midi, reading.line[question.about[0]].midi}
    return [(key,) for key in alone if not any(key % 12 in other for other in others)]


def anywhere(tones: Given, rng: Random) -> Given:
    """The same tones in another octave, as a voice has them."""
    move = 12 * rng.randrange(-2, 3)
    return tuple(key + move for key in tones)


def answers_as_it_should(reading: Reading, question: Question, rng: Random) -> None:
    by = question.by_tones
    assert by is not None
    wanted = GIVEN[question.kind](reading, question)
    assert len(wanted) == len(question.answers)
    for place, tones in enumerate(wanted):
        heard = meant(by, anywhere(tones, rng))
        if heard.place is None:  # the first tone, or the first ones, come again later: asked for more, and not judged
            assert question.kind == "changed_tone"
            assert "more than once" in heard.sentence
            assert by_tones(question, heard) is None
            heard = meant(by, anywhere(tones, rng), heard.tune)
        assert heard.place == place, (question.kind, by.what, tones)
        outcome = by_tones(question, heard, "sang")
        assert outcome is not None
        assert outcome.right == (place == question.right)
        if not outcome.right:
            assert outcome.sounds[0].performance == question.answers[place].sound
            assert outcome.sounds[1].performance == question.right_answer.sound
            assert outcome.sentence.startswith("You sang ")
    for tones in right_alone(reading, question):
        assert meant(by, anywhere(tones, rng)).place == question.right
    foreign(question, {tones[-1] % 12 for tones in wanted})


def foreign(question: Question, named: set[int]) -> None:
    """Every degree that no answer has is told to be none of these, by name, and nothing is judged by it."""
    by = question.by_tones
    assert by is not None
    others = {tune[-1] for tunes in by.tunes for tune in tunes}
    for pc in set(range(12)) - named - others:
        heard = meant(by, (60 + pc,))
        assert heard.place is None
        assert heard.sentence.startswith("That is none of these: ")
        assert by.names[pc] in heard.sentence
        assert by_tones(question, heard) is None
    if question.kind in ("where_home", "lean_way", "which_degree", "sing_held", "next_lower"):
        assert others == named, "no other degree means an answer"


def tells(question: Question) -> bool:
    """Whether it can be sung or played; else it says that only keys answer."""
    if question.by_tones is None:
        assert question.ways == ": no few tones tell these answers apart"
    else:
        assert "sing or play" in question.ways
    return question.by_tones is not None


@pytest.mark.parametrize("record", library(), ids=lambda record: record.name)
def test_every_question_on_the_library(record) -> None:
    """Every kind is answered by tones; only lines or pages that begin, end and go like the other have keys alone."""
    told: Counter[tuple[str, bool]] = Counter()
    reading, rng = read(record.line), Random(3)
    for _, question in questions(reading, 5):
        told[question.kind, tells(question)] += 1
        if question.by_tones is not None:
            answers_as_it_should(reading, question, rng)
    keys_only = {kind for kind, by in told if not by}
    assert keys_only <= {"which_line", "which_page"}
    for kind in keys_only:
        assert told[kind, True] > 9 * told[kind, False], (kind, told)


@pytest.mark.parametrize(("piece", "words"), PIECES, ids=[name.split("/")[0] for name, _ in PIECES])
def test_every_question_on_pieces_of_the_corpus(piece, words) -> None:
    reading, rng = read(load_line(CORPUS / piece, **words)), Random(4)
    kinds = set()
    for _, question in questions(reading, 6, 4):
        if tells(question):
            kinds.add(question.kind)
            answers_as_it_should(reading, question, rng)
    assert kinds >= {"where_home", "which_degree", "changed_tone", "which_page"}
    assert ("which_line" in kinds) == reading.compound


@settings(max_examples=20)
@given(readings(), st.integers(0, 999))
def test_every_question_on_any_line(reading: Reading, seed: int) -> None:
    for _, question in questions(reading, seed, 2):
        if tells(question):
            answers_as_it_should(reading, question, Random(seed))


def tunes(question: Question) -> Iterator[tuple[int, Tune]]:
    for place, mine in enumerate(question.by_tones.tunes):
        for tune in mine:
            yield place, tune


@settings(max_examples=20)
@given(readings(), st.integers(0, 999))
def test_a_tune_goes_on_exactly_where_a_longer_one_begins_with_it(reading: Reading, seed: int) -> None:
    """A keyboard's answer is waited for as long as it may go on, and no longer."""
    for _, question in questions(reading, seed, 1):
        if question.by_tones is None:
            continue
        every = [tune for _, tune in tunes(question)]
        for tune in every:
            longer = [other for other in every if other[: len(tune)] == tune and len(other) > len(tune)]
            assert may_go_on(question.by_tones, tune) == bool(longer)


def test_a_tone_struck_twice_is_one_tone() -> None:
    """Where the skeleton has no repeated tone of its own, one that is given twice in a row counts once."""
    asked = 0
    for record in library():
        for _, question in questions(read(record.line), 1, 3):
            if question.kind != "changed_tone" or any(a == b for _, tune in tunes(question) for a, b in pairwise(tune)):
                continue
            asked += 1
            sounded = keys_of(question, -1)
            twice = tuple(key for key in sounded[:3] for _ in range(2))
            assert meant(question.by_tones, twice).place == meant(question.by_tones, sounded[:3]).place
    assert asked
