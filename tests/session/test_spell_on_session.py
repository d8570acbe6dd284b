"""A spell on a session: what sounds, what is noted, and that the loop is afterwards as it was."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import pytest
from fake_player import FakePlayer
from hand_records import ROOT

from earloop.coaching.edge import Result, level_of
from earloop.coaching.question import QUESTION_KINDS, QuestionKind
from earloop.journal import Happening, Journal
from earloop.scores import load_line
from earloop.session.aside import SETTLED, Aside
from earloop.session.asking import Asking, past_of
from earloop.session.diary import Diary
from earloop.session.keyboard_answers import PAUSE, KeyboardAnswers
from earloop.session.session import Session

ROOKS = ROOT / "phrases" / "07-two-rooks.musicxml"


def session_on(player: FakePlayer, path: Path = ROOKS) -> Session:
    session = Session(load_line(path), player)
    session.practising.score = "rooks"
    return session


def commands(player: FakePlayer) -> list[str]:
    return [name for name, _ in player.asked]


def test_what_sounds_aside_ends_by_itself_and_the_place_is_kept() -> None:
    player = FakePlayer()
    session = session_on(player)
    player.playing, player.position = True, 2.5
    now = [0.0]
    aside = Aside(session, lambda: now[0])
    own = session.performance
    aside.sound(own)
    assert player.position == 0.0
    player.position = 1.25
    assert aside.place == 1.25
    player.playing = False
    assert aside.place == 1.25, "one silent look is no end yet"
    now[0] += 2 * SETTLED
    assert aside.place is None
    aside.leave()
    assert player.position == 2.5
    assert not player.playing
    assert player.performance == session.performance
    assert [name for name, _ in player.asked[-2:]] == ["alone", "load"]


def test_what_the_loop_turns_to_meanwhile_waits_until_the_question_is_over() -> None:
    """A pedal asks for the next phrase while a question sounds: that sounds on, and the phrase is there after it."""
    player = FakePlayer()
    session = session_on(player)
    player.position = 2.5
    aside = Aside(session)
    question = session.performance
    aside.sound(question)
    session.next_phrase()
    assert player.performance is question
    aside.leave()
    assert player.performance == session.performance != question
    assert player.position == 0.0


def test_leaving_without_a_sound_touches_nothing() -> None:
    player = FakePlayer()
    session = session_on(player)
    player.asked.clear()
    aside = Aside(session)
    aside.leave()
    aside.sound(session.performance)
    assert player.asked == []


def test_what_is_muted_is_heard_meanwhile_and_muted_again() -> None:
    player = FakePlayer()
    session = session_on(player)
    for strand in ("single", "drone"):
        session.turn_muted(strand)
    asking = Asking(session, [0], seed=1)
    player.asked.clear()
    asking.next()
    assert ("mute", ("single", False)) in player.asked
    assert ("mute", ("drone", False)) not in player.asked, "no question needs the drone"
    asking.leave()
    assert player.asked.count(("mute", ("single", True))) == 1
    assert session.muted == {"single", "drone"}


def test_answers_are_noted_with_what_the_next_spell_needs(journal_file: Path) -> None:
    """The level of the next spell is that after this one's answers."""
    player = FakePlayer()
    session = session_on(player)
    session.practising.diary = Diary()
    asking = Asking(session, [0, 1], kinds=("next_lower",), count=4, seed=2)
    results = []
    while (question := asking.next()) is not None:
        right = len(results) != 1
        key = question.right_answer.key if right else "x"
        outcome = asking.choose(key) if right else asking.give_up()
        assert outcome is not None
        assert asking.choose(question.right_answer.key) is None, "a question is answered once"
        results.append(Result("next_lower", question.difficulty, right))
    session.practising.diary.close()
    assert past_of("rooks") == results
    assert past_of("another score") == []
    assert level_of(past_of("rooks"), "next_lower") == level_of(results, "next_lower")
    with Journal.open(journal_file) as journal:
        noted = journal.happenings()
    assert len({happening.item for happening in noted}) == 4
    for happening in noted:
        assert happening.item == f"link:{next(iter(happening.detail['links']))}"
        assert happening.detail["degrees"] == {happening.detail["asked"]: [int(happening.result or 0), 1]}


def test_no_journal_no_past(journal_file: Path) -> None:
    assert past_of("rooks") == []
    journal_file.write_text("this is a letter", encoding="utf-8")
    assert past_of("rooks") == []


def test_unsound_notes_of_others_are_left_out(journal_file: Path) -> None:
    with Journal.open() as journal:
        for what, detail in (("which_line", {"difficulty": "hard"}), ("a_riddle", {}), ("which_line", {})):
            journal.note(Happening(datetime.now(UTC), "rooks", "", 0, "answered", what, "question:x", 1.0, 1.0, detail))
        journal.note(Happening(datetime.now(UTC), "rooks", "", 0, "played", "which_line", "layer:upper", None))
    assert [result.kind for result in past_of("rooks")] == ["which_line", "which_line"]


class Keyboard:
    """A snapshot with tones heard."""

    def __init__(self) -> None:
        self.heard, self.notes = 0, ()

    def snapshot(self) -> Keyboard:
        return self

    def play(self, *keys: int) -> None:
        self.heard += len(keys)
        self.notes = (*self.notes, *((0.0, key, 90) for key in keys), *((0.0, key, 0) for key in keys))[-32:]


def test_the_first_tone_after_the_question_answers() -> None:
    keyboard = Keyboard()
    keyboard.play(40)
    answers = KeyboardAnswers(keyboard)
    assert answers.heard(False) == ()
    keyboard.play(60)
    assert answers.heard(True) == (), "played while it sounds"
    assert answers.heard(False) == ()
    keyboard.play(61, 62, 63)
    assert answers.heard(False) == (61,)
    assert answers.heard(False) == ()
    deaf = SimpleNamespace(snapshot=lambda: SimpleNamespace(playing=False))
    assert KeyboardAnswers(deaf).heard(False) == ()


def test_several_tones_answer_once_they_are_whole() -> None:
    """At once where nothing longer begins with them, else after a pause; what sounds in between begins them anew."""
    keyboard, now = Keyboard(), [0.0]
    answers = KeyboardAnswers(keyboard, lambda: now[0])

    def heard(*keys: int, after: float = 0.1, sounding: bool = False) -> tuple[int, ...]:
        now[0] += after
        keyboard.play(*keys)
        return answers.heard(sounding, lambda given: len(given) < 3)

    assert heard(60) == ()
    assert heard(62) == ()
    assert heard(64) == (60, 62, 64)
    assert heard(65) == ()
    assert heard(after=PAUSE - 0.1) == ()
    assert heard(after=0.2) == (65,)
    assert heard(67) == ()
    assert heard(sounding=True) == ()
    assert heard(69, after=2 * PAUSE) == ()
    assert heard(after=2 * PAUSE) == (69,)


@pytest.mark.parametrize("kind", QUESTION_KINDS)
def test_an_answer_without_a_number_has_its_place_for_one(kind: QuestionKind, journal_file: Path) -> None:
    """Where answers are called by numbers, as degrees are, a number is that answer and no place."""
    session = session_on(FakePlayer(), ROOKS.with_name("16-the-lighthouse.musicxml"))
    asking = Asking(session, range(len(session.reading.phrases)), kinds=(kind,), count=1, seed=2)
    question = asking.next()
    assert question is not None
    keys = [answer.key for answer in question.answers]
    assert asking.choose("0") is None
    assert asking.choose("2") is not None
    assert asking.given == (keys.index("2") if any(key.isdecimal() for key in keys) else 1)


def test_what_is_no_answer_is_remarked_and_not_judged(journal_file: Path) -> None:
    """The question stays open, nothing is noted or sounds; the right tone then is right."""
    player = FakePlayer()
    session = session_on(player)
    session.practising.diary = Diary()
    asking = Asking(session, [0], kinds=("which_line",), count=1, seed=2)
    question = asking.next()
    assert question is not None
    by = question.by_tones
    assert by is not None
    means = [next(iter(tunes)) for tunes in by.tunes]
    foreign = next(pc for pc in range(12) if (pc,) not in means)
    player.asked.clear()
    assert asking.tones([60 + foreign]) is None
    assert asking.remark.startswith("That is none of these: ")
    assert by.what in asking.remark
    assert (asking.outcome, asking.spell.answered, player.asked) == (None, [], [])
    assert asking.tones([]) is None
    outcome = asking.tones([48.3 + means[question.right][0]], "voice")
    assert outcome is not None
    assert outcome.right
    assert asking.remark == ""
    assert asking.tones([60.0]) is None, "a question is answered once"
    session.practising.diary.close()
    with Journal.open(journal_file) as journal:
        (noted,) = journal.happenings()
    assert (noted.result, noted.detail["by"]) == (1.0, "voice")


def test_a_degree_that_comes_twice_is_asked_for_more() -> None:
    """Two Rooks' skeletons come back to their degrees: a lone one of these answers only when it is given again."""
    asking = Asking(session_on(FakePlayer()), [0], kinds=("changed_tone",), count=40, seed=3)
    seen = 0
    while (question := asking.next()) is not None:
        sounded = [event.midi for event in question.sound[-1].performance.events]
        true = [asking.session.line[event.source].midi for event in question.sound[-1].performance.events]
        pcs = [{a % 12, b % 12} for a, b in zip(sounded, true, strict=True)]
        if sum(sounded[0] % 12 in both for both in pcs) < 2:
            asking.give_up()
            continue
        assert asking.tones([sounded[0]]) is None
        assert "more than once" in asking.remark
        assert "the same again means tone 1" in asking.remark
        assert asking.tones([sounded[0] + 12]) is asking.outcome
        assert asking.given == 0
        seen += 1
    assert seen > 2
