"""What is due, counted on from what is kept, is what is due by going through everything, whatever was done between."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.coaching import due as dues
from earloop.coaching.due import due_in, due_items
from earloop.coaching.recall import SITTING, scheduler
from earloop.journal import Happening, Journal, UnderWay

BEGIN = datetime(2026, 1, 1, 18, 0, tzinfo=UTC)
STEP = SITTING / 3

notes = st.builds(
    lambda step, score, phrase, item, share, links: Happening(
        BEGIN + step * STEP,
        score,
        f"title {step}",
        phrase,
        "sung",
        "upper",
        item,
        share,
        10.0,
        {"links": {"1-2": links}} if links else {},
    ),
    st.integers(0, 60),
    st.sampled_from("ab"),
    st.sampled_from((None, 0)),
    st.sampled_from(("layer:upper", "link:1-2")),
    st.none() | st.sampled_from((0.0, 0.1, 0.3, 0.7, 1.0)),
    st.none() | st.sampled_from(([1, 1], [0, 1], [1, 3])),
)
BY_HAND = (
    "DELETE FROM happenings WHERE number = (SELECT max(number) FROM happenings)",
    "DELETE FROM happenings WHERE number = 2",
    "UPDATE happenings SET result = 0.2 WHERE number = 1",
    "UPDATE happenings SET at = '2026-01-01T23:30:00.000000+00:00' WHERE number = 3",
    'UPDATE happenings SET detail = \'{"links": {"1-2": [0, 2]}}\' WHERE number = 2',
    "UPDATE OR IGNORE happenings SET number = number + 100 WHERE number = 1",
    "INSERT OR IGNORE INTO happenings SELECT 1, at, score, title, phrase, kind, what, item, result, seconds, "
    "detail, NULL FROM happenings WHERE result < 0.6 LIMIT 1",
    "UPDATE cards SET state = '{}'",
    "UPDATE counted SET rule = 'another'",
)
acts = notes | notes.map(lambda note: UnderWay("one", note)) | st.sampled_from((*BY_HAND, "wipe"))
counts = st.sampled_from(("", "here", "in another program"))


def sooner(path: Path) -> Journal:
    """Without waiting for the disk at each note: no machine falls here."""
    journal = Journal.open(path)
    journal._connection.execute("PRAGMA synchronous = OFF")
    return journal


@settings(max_examples=60)
@given(st.lists(notes, min_size=3, max_size=8), st.lists(st.tuples(acts, counts), max_size=6))
def test_counted_on_is_counted_anew(tmp_path_factory: pytest.TempPathFactory, begun, done) -> None:
    """Notes in any order of time, edits, deletions and wipes by hand, two programs: the very same days and shares."""
    path = tmp_path_factory.mktemp("j") / "j.sqlite"
    with sooner(path) as journal:
        journal.note_all(begun)
        due_in(journal, None, UTC)
        for act, counted in done:
            _do(journal, act)
            if counted == "here":
                due_in(journal, None, UTC)
            elif counted:
                with sooner(path) as other:
                    due_in(other, BEGIN.date(), UTC)
        everything = due_items(journal.happenings(), UTC)
        for _ in range(2):
            assert due_in(journal, None, UTC) == everything
        day = BEGIN.date() + timedelta(days=2)
        assert due_in(journal, day, UTC) == [due for due in everything if due.on <= day]


def sung(step: int, share: float, item: str = "layer:upper") -> Happening:
    return Happening(BEGIN + step * STEP, "a", "A", 0, "sung", "upper", item, share, 10.0, {"links": {"1-2": [1, 1]}})


@pytest.mark.parametrize(
    "act",
    [
        sung(15, 0.0),
        UnderWay("one", sung(40, 0.0)),
        "DELETE FROM happenings WHERE number = 3",
        "DELETE FROM happenings WHERE number = 5",
        "UPDATE happenings SET result = 0.2 WHERE number = 5",
        "UPDATE happenings SET result = NULL WHERE number = 5",
        "UPDATE happenings SET at = '2026-01-03T23:30:00.000000+00:00' WHERE number = 5",
        'UPDATE happenings SET detail = \'{"links": {"1-2": [0, 2]}}\' WHERE number = 5',
        "UPDATE happenings SET item = 'layer:lower' WHERE number = 3",
        "INSERT INTO happenings SELECT * FROM kept",
        "wipe",
    ],
)
def test_each_change_of_the_past_is_counted(journal_file: Path, act: Happening | UnderWay | str) -> None:
    """One act after a counting, each of which makes another day, share or number of reviews."""
    with Journal.open() as journal:
        journal.note_all([*(sung(10 * k, 0.3 * k) for k in range(4)), UnderWay("one", sung(40, 1.0))])
        _do(journal, "CREATE TABLE kept AS SELECT * FROM happenings WHERE number = 2")
        _do(journal, "DELETE FROM happenings WHERE number = 2")
        before = due_in(journal, None, UTC)
        _do(journal, act)
        after = due_in(journal, None, UTC)
        assert after == due_items(journal.happenings(), UTC)
        assert after != before


def _do(journal: Journal, act: Happening | UnderWay | str) -> None:
    if isinstance(act, Happening | UnderWay):
        journal.note(act)
    elif act == "wipe":
        journal.wipe()
    else:
        with sqlite3.connect(journal.path) as hand:
            hand.executescript(act)
        hand.close()


class Counted:
    """The library's scheduler, its reviews counted."""

    def __init__(self) -> None:
        self.plan, self.reviews = scheduler(), 0

    def to_dict(self):
        return self.plan.to_dict()

    def review_card(self, *values):
        self.reviews += 1
        return self.plan.review_card(*values)


def test_the_second_time_only_what_is_new_is_counted(journal_file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No review is gone through again; one more outcome costs two; another rule goes through all."""

    def note(day: int, phrase: int) -> Happening:
        at = BEGIN + timedelta(days=day)
        return Happening(at, "a", "A", phrase, "sung", "upper", "layer:upper", 1.0)

    plan = Counted()
    monkeypatch.setattr(dues, "scheduler", lambda: plan)
    with Journal.open() as journal:
        journal.note_all(note(day, phrase) for day in range(20) for phrase in range(5))
        assert len(due_in(journal)) == 5
        assert plan.reviews == 100
        assert len(due_in(journal)) == 5
        assert plan.reviews == 100
        journal.note(UnderWay("x", Happening(BEGIN, "a", "A", 0, "played", "upper", "layer:upper", None, 5.0)))
        journal.note(UnderWay("x", Happening(BEGIN, "a", "A", 0, "played", "upper", "layer:upper", None, 9.0)))
        journal.note(note(20, 3))
        assert len(due_in(journal)) == 5
        assert plan.reviews == 102
        monkeypatch.setattr("earloop.coaching.recall.FORM", 2)
        due_in(journal)
        assert plan.reviews == 203
