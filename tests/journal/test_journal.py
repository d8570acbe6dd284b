"""What is noted comes back as it was, whatever else happens."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.coaching.due import due_in
from earloop.journal import Happening, Journal, JournalError, UnderWay
from earloop.journal.happening import KINDS
from earloop.journal.place import VARIABLE, journal_path, page_name, score_name, short_name

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


def happening(minute: int = 0, **other) -> Happening:
    fields = {
        "at": NOON + timedelta(minutes=minute),
        "score": "a.abc",
        "title": "A",
        "phrase": 0,
        "kind": "played",
        "what": "upper",
        "item": "layer:upper",
        "seconds": 12.5,
    }
    return Happening(**{**fields, **other})


text = st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), max_size=30)
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False) | text,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(text, inner, max_size=3),
    max_leaves=6,
)
zones = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
happenings = st.builds(
    Happening,
    at=st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=zones),
    score=text,
    title=text,
    phrase=st.none() | st.integers(0, 10**6),
    kind=st.sampled_from(KINDS),
    what=text,
    item=text,
    result=st.none() | st.floats(0, 1),
    seconds=st.floats(0, 1e6),
    detail=st.dictionaries(text, values, max_size=3),
)


@given(st.lists(happenings, max_size=8))
def test_what_is_noted_comes_back_in_order_of_time(tmp_path_factory, noted) -> None:
    """Every field, every zone, every JSON value; the same after closing and opening again."""
    path = tmp_path_factory.mktemp("j") / "j.sqlite"
    with Journal.open(path) as journal:
        for one in noted:
            journal.note(one)
        before = journal.happenings()
    with Journal.open(path) as journal:
        assert journal.happenings() == before
    assert before == sorted(noted, key=lambda one: one.at)


def test_by_score_phrase_and_time(journal_file: Path) -> None:
    with Journal.open() as journal:
        journal.note_all([happening(0), happening(1, score="b.abc"), happening(2, phrase=1), happening(3, phrase=None)])
        assert [h.at.minute for h in journal.happenings(score="a.abc")] == [0, 2, 3]
        assert [h.at.minute for h in journal.happenings(phrase=1)] == [2]
        assert [h.at.minute for h in journal.happenings(since=NOON + timedelta(minutes=2))] == [2, 3]
        assert journal.scores() == {"a.abc", "b.abc"}
    assert journal_file.exists()


def test_an_unsound_note_is_refused_and_its_companions_with_it(journal_file: Path) -> None:
    """All of a batch or none."""
    bad = (
        happening(result=1.5),
        happening(result=float("nan")),
        happening(seconds=-1),
        happening(at=datetime(2026, 3, 1)),
        happening(kind="heard"),
        happening(phrase=-1),
        happening(detail={"x": object()}),
    )
    with Journal.open() as journal:
        for one in bad:
            with pytest.raises(ValueError, match="can't be noted"):
                journal.note_all([happening(), one])
        assert journal.happenings() == []


def test_what_is_under_way_is_one_row(journal_file: Path) -> None:
    """Whoever writes it, and also after a wipe between; others are not touched."""
    with Journal.open() as journal, Journal.open() as other:
        for minute, one in enumerate((journal, other, journal)):
            one.note_all([UnderWay("mine", happening(minute, seconds=minute)), happening(10 + minute)])
        one.note(UnderWay("another", happening(20)))
        assert [h.at.minute for h in journal.happenings()] == [2, 10, 11, 12, 20]
        journal.wipe()
        journal.note(happening(30))
        other.note(UnderWay("mine", happening(31)))
        assert [h.at.minute for h in journal.happenings()] == [30, 31]
        with pytest.raises(ValueError, match="can't be noted"):
            other.note(UnderWay("mine", happening(31, seconds=-1)))


def test_wiping_leaves_nothing_on_the_disk(journal_file: Path) -> None:
    """Neither a row nor its bytes, also in the files SQLite keeps beside it; nor what was worked out from it."""
    with Journal.open() as journal:
        for minute in range(300):
            journal.note(happening(minute, title="a-title-nobody-else-has", result=1.0))
        assert due_in(journal)
        assert journal.wipe() == 300
        assert journal.happenings() == []
        for path in journal_file.parent.glob(journal_file.name + "*"):
            assert b"a-title-nobody-else-has" not in path.read_bytes()
    with Journal.open() as journal:
        journal.note(happening())
        assert len(journal.happenings()) == 1


def test_refusals_say_what_and_where(tmp_path: Path) -> None:
    """A damaged file, a folder in its place, a later earloop's journal: the file stays as it is."""
    damaged = tmp_path / "damaged.sqlite"
    damaged.write_bytes(b"this is a letter to a friend, not a journal" * 40)
    before = damaged.read_bytes()
    with pytest.raises(JournalError, match=r"damaged\.sqlite is damaged"):
        Journal.open(damaged)
    assert damaged.read_bytes() == before
    with pytest.raises(JournalError, match="look to its folder"):
        Journal.open(tmp_path)
    newer = tmp_path / "newer.sqlite"
    with sqlite3.connect(newer) as made:
        made.execute("PRAGMA user_version = 999")
    with pytest.raises(JournalError, match="newer earloop"):
        Journal.open(newer)


def test_where_it_lies(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An argument before the environment, the environment before the user's data folder."""
    assert journal_path(tmp_path / "x") == tmp_path / "x"
    monkeypatch.setenv(VARIABLE, str(tmp_path / "y"))
    assert journal_path() == tmp_path / "y"
    monkeypatch.delenv(VARIABLE)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert journal_path().name == "journal.sqlite"


def test_names_of_scores(tmp_path: Path) -> None:
    """A library phrase is known wherever it is installed; a part is a line of its own."""
    score = tmp_path / "tune.abc"
    assert score_name(score) == str(score.resolve())
    assert score_name(score, tmp_path) == "library:tune.abc"
    page = page_name(part=2, first_measure=5, last_measure=8)
    assert short_name(score_name(score, tmp_path, page)) == "tune.abc (part 2, bars 5-8)"


def test_plans_are_kept_a_phrase_each(journal_file: Path) -> None:
    """The newest takes the older one's place; wiping takes them all."""
    with Journal.open() as journal:
        assert journal.kept_plan("a", 0) is None
        journal.keep_plan("a", 0, {"steps": [1]}, NOON)
        journal.keep_plan("a", 0, {"steps": [2]}, NOON)
        journal.keep_plan("a", 1, {"steps": [3]}, NOON)
        assert journal.kept_plan("a", 0) == (NOON, {"steps": [2]})
        journal.keep_plan("a", 0, None)
        assert journal.kept_plan("a", 0) is None
        journal.wipe()
        assert journal.kept_plan("a", 1) is None
