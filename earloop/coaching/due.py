"""What is due on which day; all of it follows from the journal, by the rule of `recall`.

One item a link, a layer, a question kind of a phrase. Going through years of practice takes seconds, so how each item
stands is kept in the journal beside what happened, and only what is new since then is counted.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from fsrs import Scheduler

from earloop.coaching.items import Item, outcomes
from earloop.coaching.recall import Recall, after, as_text, from_text, reviewed, rule, scheduler
from earloop.journal import Happening, Journal, JournalError
from earloop.journal.counting import Counting, KeptCard


@dataclass(frozen=True, slots=True)
class Due:
    """`on` is the day on which the item is due; `share` how its last review went, `reviews` how many there were."""

    item: Item
    title: str
    on: date
    last: datetime
    share: float
    reviews: int


def due_items(happenings: Iterable[Happening], zone: tzinfo | None = None) -> list[Due]:
    """Every item that was ever judged, the earliest due first. `zone` says whose days; None is the machine's own."""
    plan = scheduler()
    recalls: dict[Item, Recall] = {}
    for outcome in outcomes(happenings):
        recalls[outcome.item] = after(plan, recalls.get(outcome.item), outcome)
    return _sorted(_due(item, recall, reviewed(plan, recall).due, zone) for item, recall in recalls.items())


def due_in(journal: Journal, day: date | None = None, zone: tzinfo | None = None) -> list[Due]:
    """The same from a journal: what is due on that day or before, or every item. What was counted is kept there.

    Raises JournalError where the journal can't be read; one that can't be written only costs time.
    """
    plan = scheduler()
    try:
        found = _counted(journal, plan, day, zone)
    except (ValueError, KeyError, TypeError):  # what is kept there is not what earloop wrote
        journal.forget_cards()
        found = _counted(journal, plan, day, zone)
    return _sorted(due for due in found if day is None or due.on <= day)


def _counted(journal: Journal, plan: Scheduler, day: date | None, zone: tzinfo | None) -> list[Due]:
    with journal.counting(rule(plan)) as counting:
        recalls = _brought_up(counting, plan)
        kept = counting.cards(None if day is None else _end_of(day))
        found = {
            item: _due(item, from_text(card.state), card.due, zone)
            for card in kept
            if (item := Item(card.score, card.phrase, card.name)) not in recalls
        }
    cards = [
        KeptCard(item.score, item.phrase, item.name, reviewed(plan, recall).due, as_text(recall))
        for item, recall in recalls.items()
    ]
    if cards or counting.fresh:
        with contextlib.suppress(JournalError):
            journal.keep_counted(counting, cards)
    for card, (item, recall) in zip(cards, recalls.items(), strict=True):
        found[item] = _due(item, recall, card.due, zone)
    return list(found.values())


def _brought_up(counting: Counting, plan: Scheduler) -> Mapping[Item, Recall]:
    """The items that have changed since the last counting, as they stand now."""
    recalls: dict[Item, Recall] = {}
    anew: set[tuple[str, int]] = set()
    for outcome in outcomes(counting.fresh):
        item = outcome.item
        recall = recalls.get(item)
        if recall is None:
            kept = counting.card(item.score, item.phrase, item.name)
            recall = None if kept is None else from_text(kept)
        if recall is not None and outcome.at < recall.last:
            anew.add((item.score, item.phrase))  # noted later than it happened, as from another program
        else:
            recalls[item] = after(plan, recall, outcome)
    for score, phrase in anew:
        recalls = {item: recall for item, recall in recalls.items() if (item.score, item.phrase) != (score, phrase)}
        for outcome in outcomes(counting.of_phrase(score, phrase)):
            recalls[outcome.item] = after(plan, recalls.get(outcome.item), outcome)
    return recalls


def _due(item: Item, recall: Recall, due: datetime, zone: tzinfo | None) -> Due:
    return Due(item, recall.title, due.astimezone(zone).date(), recall.last, recall.share, recall.reviews)


def _sorted(found: Iterable[Due]) -> list[Due]:
    return sorted(found, key=lambda due: (due.on, due.item))


def _end_of(day: date) -> datetime:
    """A moment after all that belongs to the day, in whatever zone."""
    return datetime.combine(min(day, date.max - timedelta(days=2)), time(), UTC) + timedelta(days=2)
