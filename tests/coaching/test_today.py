"""Which plan is up today: the player's own for its day, a teacher's until it is replaced, else the proposal."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from earloop.coaching.lengths import pass_seconds
from earloop.coaching.plan import Plan, Step, as_object
from earloop.coaching.proposing import propose
from earloop.coaching.today import MINUTES, due_today, plan_to_give, plan_today
from earloop.journal import Happening, Journal
from earloop.reading import read
from tests.made_lines import line_of

READING = read(line_of("C4 D4 E4 F4 G4 A4 B4 C5"))
NOW = datetime(2026, 5, 1, 12, 0).astimezone()
OWN = Plan(0, 35, (Step("ornamented", "play", 7, 55, 3.0), Step("lower", "sing", 1, 80, 3.0)))


def proposed(minutes: int) -> Plan:
    """What is proposed to someone who never practised it."""
    return propose(0, pass_seconds(READING, READING.phrases[0]), {}, minutes)


def keep(plan: dict, at: datetime) -> None:
    with Journal.open() as journal:
        journal.keep_plan("s", 0, plan, at)


def test_without_a_journal_it_is_proposed(journal_file) -> None:
    assert plan_today(READING, "s", 0, now=NOW) == proposed(MINUTES)
    assert due_today(NOW) == ()
    assert not journal_file.exists()


def test_the_players_own_plan_holds_for_its_day(journal_file) -> None:
    """A layer that the reading no longer has is left out; its minutes hold on the next day too."""
    keep(as_object(OWN), NOW - timedelta(hours=3))
    held = plan_today(READING, "s", 0, now=NOW)
    assert [(step.layer, step.passes, step.tempo) for step in held.steps] == [("ornamented", 7, 55)]
    assert plan_today(READING, "s", 0, now=NOW + timedelta(days=1)) == proposed(35)
    assert plan_today(READING, "s", 0, minutes=10, now=NOW) == proposed(10)


def test_a_teachers_plan_holds_until_it_is_replaced(journal_file) -> None:
    keep(as_object(OWN) | {"source": "a teacher"}, NOW - timedelta(days=40))
    assert plan_today(READING, "s", 0, now=NOW).source == "a teacher"


def test_a_spoilt_plan_gives_way_to_the_proposal(journal_file) -> None:
    keep({"steps": "none"}, NOW)
    assert plan_today(READING, "s", 0, now=NOW) == proposed(MINUTES)


def test_due_is_over_all_scores(journal_file) -> None:
    with Journal.open() as journal:
        for score in ("s", "t"):
            at = (NOW - timedelta(days=20)).astimezone(UTC)
            journal.note(Happening(at, score, score, 0, "sung", "upper", "layer:upper", 0.0))
    assert [due.item.score for due in due_today(NOW)] == ["s", "t"]


def test_a_plan_that_came_with_the_score_holds_until_the_player_makes_another(journal_file) -> None:
    """For its phrase only; an own change comes before it, and a changed one of the teacher's stays changed."""
    given = Plan(0, 12, (Step("held", "sing", 4, 66, 9.0),), "a teacher")
    assert [s.tempo for s in plan_today(READING, "s", 0, now=NOW, given=given).steps] == [66]
    elsewhere = Plan(1, 12, given.steps, "a teacher")
    assert plan_today(READING, "s", 0, now=NOW, given=elsewhere) == proposed(MINUTES)
    keep(as_object(given.with_tempo(0, 70)), NOW - timedelta(days=9))
    assert [s.tempo for s in plan_today(READING, "s", 0, now=NOW, given=given).steps] == [70]
    keep(as_object(OWN), NOW)
    assert plan_today(READING, "s", 0, now=NOW, given=given).minutes == 35
    assert plan_today(READING, "s", 0, now=NOW + timedelta(days=1), given=given).source == "a teacher"


def test_a_student_is_given_the_plan_that_is_kept_or_one_for_a_beginner(journal_file) -> None:
    """What the teacher practised is no matter of the student's."""
    with Journal.open() as journal:
        at = NOW.astimezone(UTC)
        detail = {"passes": 9, "tempo": 140}
        journal.note(Happening(at, "s", "s", 0, "sung", "skeleton", "layer:skeleton", 1.0, 9.0, detail))
    made = plan_to_give(READING, "s", 0, "Mx B", 30)
    assert made.source == "Mx B"
    assert {step.tempo for step in made.steps} == {80}
    keep(as_object(OWN), NOW - timedelta(days=9))
    assert plan_to_give(READING, "s", 0, "Mx B").minutes == 35
    assert plan_to_give(READING, "s", 0, "Mx B", 10).minutes == 10
