"""What is due, counted on from what is kept, is what is due by going through everything, whatever was done between."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
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
acts = st.one_of(
    notes,
    notes.map(lambda note: UnderWay("one", note)),
    st.sampled_from(("due", "due of another program", "wipe")),
    st.sampled_from(
        (
            "DELETE FROM happenings WHERE number = (SELECT max(number) FROM happenings)",
            "DELETE FROM happenings WHERE number = 2",
            "UPDATE happenings SET result = 0.2 WHERE number = 1",
            "UPDATE happenings SET at = '2026-01-01T23:30:00.000000+00:00' WHERE number = 3",
            'UPDATE happenings SET detail = \'{"links": {"1-2": [0, 2]}}\' WHERE number = 2',
            "UPDATE OR IGNORE happenings SET number = number + 100 WHERE number = 1",
            "INSERT OR IGNORE INTO happenings SELECT 1, at, score, title, phrase, kind, what, item, result, seconds, "
            "detail, NULL FROM happenings LIMIT 1",
            "UPDATE cards SET state = '{}'",
            "UPDATE counted SET rule = 'another'",
        )
    ),
)


@given(st.lists(acts, max_size=25))
def test_counted_on_is_counted_anew(tmp_path_factory: pytest.TempPathFactory, done) -> None:
    """Notes in any order of time, edits, deletions and wipes by hand, two programs: the very same days and shares."""
    path = tmp_path_factory.mktemp("j") / "j.sqlite"
    with Journal.open(path) as journal:
        for act in done:
            if isinstance(act, Happening | UnderWay):
                journal.note(act)
            elif act == "due":
                due_in(journal, None, UTC)
            elif act == "due of another program":
                with Journal.open(path) as other:
                    due_in(other, BEGIN.date(), UTC)
            elif act == "wipe":
                journal.wipe()
            else:
                with sqlite3.connect(path) as hand:
                    hand.execute(act)
                hand.close()
        everything = due_items(journal.happenings(), UTC)
        for _ in range(2):
            assert due_in(journal, None, UTC) == everything
        day = BEGIN.date() + timedelta(days=2)
        assert due_in(journal, day, UTC) == [due for due in everything if due.on <= day]


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
