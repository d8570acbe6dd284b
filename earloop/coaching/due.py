"""What is due on which day, by the FSRS scheduler of the library `fsrs`; all of it follows from the journal.

One item a link, a layer, a question kind of a phrase. Outcomes of an item that follow one another within SITTING are
one review, at the last one's moment, with their mean as its share: five questions in a row are one time of remembering.
The share gives the grade: below AGAIN it was not there, below HARD it was there with effort, else it was good. (The two
limits are a judgement of ours, no source; `easy` is never given, since no ear can tell it from good.)

The library's steps of minutes within a day are left out, since what is due is asked by the day, and its fuzz too, so
that the same past always gives the same days. Its parameters and its aim (nine in ten remembered) are its own defaults.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from fsrs import Card, Rating, Scheduler

from earloop.coaching.items import Item, Outcome, outcomes
from earloop.journal import Happening

SITTING = timedelta(minutes=30)
AGAIN = 0.6
HARD = 0.85


@dataclass(frozen=True, slots=True)
class Due:
    """`on` is the day on which the item is due; `share` how its last review went, `reviews` how many there were."""

    item: Item
    title: str
    on: date
    last: datetime
    share: float
    reviews: int


@dataclass(frozen=True, slots=True)
class Review:
    """One time of remembering."""

    at: datetime
    share: float

    @property
    def rating(self) -> Rating:
        if self.share < AGAIN:
            return Rating.Again
        return Rating.Hard if self.share < HARD else Rating.Good


def scheduler() -> Scheduler:
    """The scheduler all dates come from."""
    return Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def due_items(happenings: Iterable[Happening], zone: tzinfo | None = None) -> list[Due]:
    """Every item that was ever judged, the earliest due first. `zone` says whose days; None is the machine's own."""
    by_item: dict[Item, list[Outcome]] = {}
    for outcome in outcomes(happenings):
        by_item.setdefault(outcome.item, []).append(outcome)
    plan = scheduler()
    found = [_due(plan, item, own, zone) for item, own in by_item.items()]
    return sorted(found, key=lambda due: (due.on, due.item))


def due_by(happenings: Iterable[Happening], day: date, zone: tzinfo | None = None) -> list[Due]:
    """What is due on that day or was due before it."""
    return [due for due in due_items(happenings, zone) if due.on <= day]


def reviews(own: Iterable[Outcome]) -> Iterator[Review]:
    """The sittings among outcomes of one item, which come oldest first."""
    sitting: list[Outcome] = []
    for outcome in own:
        if sitting and outcome.at - sitting[-1].at > SITTING:
            yield _review(sitting)
            sitting = []
        sitting.append(outcome)
    if sitting:
        yield _review(sitting)


def _review(sitting: list[Outcome]) -> Review:
    return Review(sitting[-1].at, sum(one.share for one in sitting) / len(sitting))


def _due(plan: Scheduler, item: Item, own: list[Outcome], zone: tzinfo | None) -> Due:
    past = list(reviews(own))
    card = Card(card_id=1, due=past[0].at)
    for review in past:
        card, _ = plan.review_card(card, review.rating, review.at)
    return Due(item, own[-1].title, card.due.astimezone(zone).date(), past[-1].at, past[-1].share, len(past))
