"""Questions on the library's hand readings: the right answer is what the hand wrote down, in its own signs.

Source: the readings of record in phrases/, made by hand. Nothing here asks a reader of ours what is right.
"""

from __future__ import annotations

from random import Random

import pytest
from hand_readings import by_hand
from hand_records import Record, library

from earloop.coaching.answering import by_choice, by_tones, given_up
from earloop.coaching.by_tones import meant
from earloop.coaching.question import Question, QuestionKind, by_number
from earloop.coaching.questions import spots_of

RECORDS = {record.name: record for record in library()}
TWO_LINES = [name for name, record in RECORDS.items() if "upper" in record.voices and "lower" in record.voices]


def asked(record: Record, *kinds: QuestionKind) -> list[Question]:
    """Every question of the kinds on the hand reading."""
    reading = by_hand(record)
    spots = [spot for phrase in range(len(record.phrases)) for spot in spots_of(reading, phrase, kinds)]
    return [spot.make(Random(7), by_number) for spot in spots]


def heard(question: Question, part: int = -1) -> list[int | None]:
    """Which tones of the line sound in a part, in order."""
    return [event.source for event in question.sound[part].performance.events]


def played(question: Question, *keys: int) -> str:
    """What is said to these tones."""
    assert question.by_tones is not None
    found = meant(question.by_tones, keys)
    outcome = by_tones(question, found)
    return found.sentence if outcome is None else outcome.sentence


@pytest.fixture(params=RECORDS)
def record(request: pytest.FixtureRequest) -> Record:
    return RECORDS[request.param]


def test_degrees(record: Record) -> None:
    """In the home key by the hand's row of degrees, in the local key by its row of local ones."""
    questions = asked(record, "which_degree")
    assert len(questions) >= sum(tone.length > 0 for tone in record.line.tones)
    for question in questions:
        (index,) = question.about
        local = "own little key" in question.words
        row = [str(degree) for degree in record.local_degrees] if local else record.degrees
        assert question.right_answer.words == row[index]


def test_home(record: Record) -> None:
    """The home tonic is that of the hand's key; in a gesture's own key, that of the hand's local key."""
    keys = {record.key.pc}
    for question in asked(record, "where_home"):
        (tonic,) = question.about
        if "own little key" in question.words:
            assert str(record.local_degrees[tonic]) == "1"
        else:
            assert record.line[tonic].pitch.pc in keys


@pytest.mark.parametrize("name", TWO_LINES)
def test_lines(name: str) -> None:
    """What sounds alone are exactly the tones that the hand gave to that line."""
    record = RECORDS[name]
    questions = asked(record, "which_line")
    assert questions
    for question in questions:
        wanted = {"upper": {"upper", "single"}, "lower": {"lower", "middle", "single"}}
        mine = wanted[question.right_answer.words.split()[1]]
        span = record.phrases[question.phrase]
        assert heard(question) == [i for i in span.indexes if record.voices[i] in mine]


@pytest.mark.parametrize("name", TWO_LINES)
def test_lower_line_goes_on(name: str) -> None:
    """The tone wanted is the next one the hand gave to the lower line, and nothing of it was heard before."""
    record = RECORDS[name]
    for question in asked(record, "next_lower"):
        last = heard(question)[-1]
        assert last is not None
        goes_on = next(i for i in range(last + 1, len(record.line)) if record.voices[i] in ("lower", "single"))
        assert record.voices[last] != "lower"
        assert record.voices[goes_on] == "lower"
        row = [str(degree) for degree in record.local_degrees]
        assert question.right_answer.words in (row[goes_on], record.degrees[goes_on])


def test_leans(record: Record) -> None:
    """Each lean of the hand is asked about, and released the way its pitches go."""
    questions = asked(record, "lean_way")
    assert {question.about for question in questions} == record.leans
    for question in questions:
        lean, release = question.about
        falls = record.line[release].midi < record.line[lean].midi
        assert question.right_answer.words == ("down" if falls else "up")


def test_skeletons(record: Record) -> None:
    """The skeletons that are changed or matched with a page are the hand's: its pillars, or all that carry."""
    for question in asked(record, "changed_tone", "which_page"):
        span = record.phrases[question.phrase]
        rows = [[i for i in span.indexes if record.skeleton[i] in signs] for signs in ("X", "Xx", "Xx.")]
        sounded = heard(question, -1 if question.kind == "changed_tone" else 0)
        assert sounded in rows
        if question.kind == "changed_tone":
            assert sounded[question.right] == question.about[0]
        else:
            assert sounded == rows[1]


def test_held_tones(record: Record) -> None:
    """The tone held is the last one of its line that the hand says carries it, and what decorates it went on."""
    for question in asked(record, "sing_held"):
        held, last = question.about
        assert record.skeleton[held] in "Xx"
        between = range(held + 1, last + 1)
        mine = [i for i in between if record.voices[held] in (record.voices[i], "single")]
        assert all(record.skeleton[i] == "." for i in mine)
        assert heard(question)[-1] == last
        words = {record.degrees[held], str(record.local_degrees[held])}
        assert question.right_answer.words in words


def test_two_rooks_by_heart() -> None:
    """Two Rooks, phrase 1, worked out by hand: low 1 2 3 4 5 4 3 against high 3 4 5 6 5 4 3."""
    record = RECORDS["07-two-rooks"]
    lower = [question for question in asked(record, "next_lower") if question.phrase == 0]
    assert [(q.item, q.right_answer.words) for q in lower] == [
        ("link:0-2", "2"), ("link:2-4", "3"), ("link:4-6", "4"), ("link:6-8", "5"), ("link:8-10", "4"),
        ("link:10-12", "3"),
    ]  # fmt: skip
    lines = {q.right_answer.words: heard(q) for q in asked(record, "which_line") if q.phrase == 0}
    assert lines == {"the lower line": list(range(0, 14, 2)), "the upper line": list(range(1, 14, 2))}
    told = {by_choice(q, 1 - q.right).sentence for q in asked(record, "which_line") if q.phrase == 0}
    assert told == {
        "You said the lower line, but it was the upper line: it begins on 3, the lower one on 1.",
        "You said the upper line, but it was the lower line: it begins on 1, the upper one on 3.",
    }
    second = next(q for q in lower if q.item == "link:0-2")
    assert (
        by_choice(second, 4).sentence == "You said 5; it is 2, a fourth lower: the lower line goes on a step up from 1."
    )
    assert (
        played(second, 70)
        == "That is none of these: it was b3. Sing or play the lower line's next tone, or answer by key."
    )
    assert played(second, 74) == "You played 5; it is 2, a fourth lower: the lower line goes on a step up from 1."
    assert played(second, 45) == "Yes.", "any octave"
    assert given_up(second).sentence == "It is 2: the lower line goes on a step up from 1."


def test_counting_milestones_by_heart() -> None:
    """Every gesture sings 1-3-2-1 in its own little key: its sigh leans 2 and falls; home is D."""
    record = RECORDS["05-counting-milestones"]
    second = [q for q in asked(record, "which_degree") if q.about == (6,)]
    assert [(q.words.split("was it")[1], q.right_answer.words) for q in second] == [
        (" in the home key, D major?", "3"),
        (" in its own little key, E minor?", "2"),
    ]
    assert {q.right_answer.words for q in asked(record, "lean_way")} == {"down"}
    home = [q for q in asked(record, "where_home") if q.phrase == 0 and "own" not in q.words]
    assert [q.right_answer.pitch.letter for q in home if q.right_answer.pitch] == ["D"]
