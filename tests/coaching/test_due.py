"""Dates come from the scheduler of `fsrs` itself, run here directly with the same grades at the same moments."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from fsrs import Card, Rating, Scheduler
from hypothesis import given
from hypothesis import strategies as st

from earloop.coaching.due import due_in, due_items
from earloop.coaching.items import Item, counted, told
from earloop.coaching.recall import SITTING
from earloop.journal import Happening, Journal

BEGIN = datetime(2026, 1, 1, 18, 0, tzinfo=UTC)


def answered(
    at: datetime, share: float | None, item: str = "layer:upper", phrase: int | None = 0, **detail
) -> Happening:
    return Happening(at, "a.abc", "A", phrase, "answered", item.partition(":")[2], item, share, 10.0, detail)


def by_the_library(reviews: list[tuple[datetime, Rating]]) -> datetime:
    """fsrs's own scheduler, its fuzz off and its steps of minutes out (py-fsrs 6, README: scheduler's parameters)."""
    scheduler = Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)
    card = Card()
    for at, rating in reviews:
        card, _ = scheduler.review_card(card, rating, at)
    return card.due


GRADES = {
    0.0: Rating.Again,
    0.59: Rating.Again,
    0.6: Rating.Hard,
    0.84: Rating.Hard,
    0.85: Rating.Good,
    1.0: Rating.Good,
}


@given(st.lists(st.tuples(st.integers(1, 60 * 24 * 40), st.sampled_from(sorted(GRADES))), min_size=1, max_size=12))
def test_days_equal_those_of_fsrs(past) -> None:
    """Any past with sittings apart from one another: the same day, to the day, as the library's own."""
    at, happenings, reviews = BEGIN, [], []
    for minutes, share in past:
        at += SITTING + timedelta(minutes=minutes)
        happenings.append(answered(at, share))
        reviews.append((at, GRADES[share]))
    (due,) = due_items(happenings, UTC)
    assert due.on == by_the_library(reviews).date()
    assert (due.reviews, due.share, due.last) == (len(past), past[-1][1], at)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=8))
def test_questions_in_a_row_are_one_review(shares) -> None:
    """Within half an hour of one another: their mean, at the last one's moment."""
    happenings = [answered(BEGIN + n * SITTING, share) for n, share in enumerate(shares)]
    mean = sum(shares) / len(shares)
    rating = Rating.Again if mean < 0.6 else Rating.Hard if mean < 0.85 else Rating.Good
    (due,) = due_items(happenings, UTC)
    assert due.reviews == 1
    assert due.on == by_the_library([(happenings[-1].at, rating)]).date()


def test_each_phrase_and_item_has_days_of_its_own() -> None:
    """What was only played is no review; links judged within a singing are items themselves."""
    happenings = [
        answered(BEGIN, 1.0),
        answered(BEGIN, 0.0, phrase=1),
        answered(BEGIN, None, "layer:lower"),
        answered(BEGIN, 0.5, "layer:held", None, links={"12-18": [1, 1], "18-20": [0, 2], "bad": [3, 2]}),
    ]
    found = {due.item: due.share for due in due_items(happenings, UTC)}
    assert found == {
        Item("a.abc", 0, "layer:upper"): 1.0,
        Item("a.abc", 1, "layer:upper"): 0.0,
        Item("a.abc", -1, "layer:held"): 0.5,
        Item("a.abc", -1, "link:12-18"): 1.0,
        Item("a.abc", -1, "link:18-20"): 0.0,
    }


def test_the_order_of_entries_does_not_matter() -> None:
    happenings = [answered(BEGIN + timedelta(days=day), share) for day, share in ((0, 1.0), (3, 0.7), (9, 0.2))]
    assert due_items(happenings, UTC) == due_items(reversed(happenings), UTC)


def test_days_are_the_players_own() -> None:
    """The same moment is another day elsewhere."""
    late = [answered(datetime(2026, 1, 1, 23, 30, tzinfo=UTC), 1.0)]
    (here,), (east,) = due_items(late, UTC), due_items(late, timezone(timedelta(hours=9)))
    assert east.on == here.on + timedelta(days=1)


def test_what_is_due_stays_due_until_it_is_done(journal_file) -> None:
    happening = answered(BEGIN, 0.0)
    (due,) = due_items([happening], UTC)
    assert due.on > BEGIN.date()
    with Journal.open() as journal:
        journal.note(happening)
        for _ in range(2):
            assert due_in(journal, BEGIN.date(), UTC) == due_in(journal, date.min, UTC) == []
            assert due_in(journal, due.on, UTC) == due_in(journal, date.max, UTC) == [due]


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("layer:upper", "upper"),
        ("link:12-18", "link from tone 13 to 19"),
        ("question:which_line", "question: which line"),
        ("link:x", "link: x"),
        ("", ""),
    ],
)
def test_items_in_words(name, words) -> None:
    assert told(name) == words


@given(
    st.recursive(st.none() | st.integers() | st.text(max_size=3), lambda x: st.lists(x) | st.dictionaries(st.text(), x))
)
def test_any_detail_is_borne(table) -> None:
    """A detail that was made elsewhere is read as far as it makes sense."""
    for right, asked in counted(table).values():
        assert 0 <= right <= asked
        assert asked > 0
