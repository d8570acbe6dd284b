"""What the journal tells over days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.coaching.progress import degree_counts, layer_courses, link_counts, minutes_a_day, seconds_spent
from earloop.journal import Happening

NOON = datetime(2026, 5, 10, 12, 0, tzinfo=UTC)


def one(
    minute: float, seconds: float = 0.0, result: float | None = None, item: str = "layer:upper", **detail
) -> Happening:
    at = NOON + timedelta(minutes=minute)
    return Happening(at, "s", "S", 0, "sung", item.partition(":")[2], item, result, seconds, detail)


@given(st.lists(st.tuples(st.integers(0, 600), st.integers(0, 1200)), max_size=12))
def test_time_spent_is_never_counted_twice(spans) -> None:
    """Beside a count second by second of the times covered."""
    covered = {second for end, length in spans for second in range(60 * end - length, 60 * end)}
    happenings = [one(end, length) for end, length in spans]
    assert seconds_spent(happenings) == pytest.approx(len(covered))
    days = minutes_a_day(happenings, NOON.date(), 3, UTC)
    assert sum(minutes for _, minutes in days) == pytest.approx(len(covered) / 60)


def test_days_without_practice_are_there_too() -> None:
    """The last days up to the one asked for; older ones are left out."""
    happenings = [one(0, 600), one(-2 * 1440, 300), one(-30 * 1440, 999)]
    days = minutes_a_day(happenings, NOON.date(), 4, UTC)
    assert [(day.day, minutes) for day, minutes in days] == [(7, 0), (8, 5), (9, 0), (10, 10)]


def test_layers_by_day() -> None:
    """The mean of each day, layers in their own order; what was only played has no course."""
    happenings = [
        one(1440, result=1.0),
        one(0, result=0.5),
        one(1, result=1.0),
        one(0, result=0.2, item="layer:skeleton"),
    ]
    courses = layer_courses([*happenings, one(0, 9.0, item="layer:held")], UTC)
    assert list(courses) == ["skeleton", "upper"]
    assert courses["upper"] == [(NOON.date(), 0.75), (NOON.date() + timedelta(days=1), 1.0)]


def test_degrees_are_counted_in_order() -> None:
    """1 to 7, altered ones beside; rows that make no sense are left out."""
    happenings = [
        one(0, degrees={"2": [1, 4], "#4": [0, 1], "1": [2, 2]}),
        one(1, degrees={"2": [3, 3], "4": [1, 1], "x": [5, 2], "y": "z"}),
        one(2, degrees="none"),
    ]
    counts = degree_counts(happenings)
    assert [(c.degree, c.right, c.asked) for c in counts] == [("1", 2, 2), ("2", 4, 7), ("4", 1, 1), ("#4", 0, 1)]
    assert counts[1].share == pytest.approx(4 / 7)


def test_shaky_links_come_first() -> None:
    """By their last three times; a link that got sure is not shaky any more."""
    bad_then_good = [one(day * 1440, links={"2-6": [int(day > 1), 1]}) for day in range(5)]
    shaky = [one(0, links={"6-9": [1, 1]}), one(9, result=0.0, item="link:6-9")]
    links = link_counts([*bad_then_good, *shaky, one(0, result=1.0, item="link:nonsense")])
    assert [(c.first, c.second, c.times, c.lately, c.shaky) for c in links] == [
        (6, 9, 2, 0.5, True),
        (2, 6, 5, 1.0, False),
    ]
