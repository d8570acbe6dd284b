"""How well one item is remembered, outcome by outcome, by the FSRS scheduler of the library `fsrs`.

Outcomes of an item that follow one another within SITTING are one review, at the last one's moment, with their mean as
its share: five questions in a row are one time of remembering. The share gives the grade: below AGAIN it was not there,
below HARD it was there with effort, else it was good. (The two limits are a judgement of ours, no source; `easy` is
never given, since no ear can tell it from good.)

The library's steps of minutes within a day are left out, since what is due is asked by the day, and its fuzz too, so
that the same past always gives the same days. Its parameters and its aim (nine in ten remembered) are its own defaults.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from importlib.metadata import version

from fsrs import Card, Rating, Scheduler

from earloop.coaching.items import Outcome

SITTING = timedelta(minutes=30)
AGAIN = 0.6
HARD = 0.85
FORM = 1
"""Counts the forms in which a Recall was ever written as text."""


@dataclass(frozen=True, slots=True)
class Recall:
    """`card` stands after the reviews that are over, `before` in number; `sitting` are the shares of the last one.

    The last sitting may still go on: another outcome within SITTING of `last` belongs to it.
    """

    title: str
    card: Card
    before: int
    sitting: tuple[float, ...]
    last: datetime

    @property
    def share(self) -> float:
        """That of the last sitting."""
        return sum(self.sitting) / len(self.sitting)

    @property
    def reviews(self) -> int:
        """How many there were, the last one included."""
        return self.before + 1


def scheduler() -> Scheduler:
    """The scheduler all dates come from."""
    return Scheduler(learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def rule(plan: Scheduler) -> str:
    """By what dates are worked out, as text: with any of it changed, other dates follow from the same past."""
    ours = {"form": FORM, "sitting": SITTING.total_seconds(), "again": AGAIN, "hard": HARD}
    return json.dumps({"fsrs": version("fsrs"), **plan.to_dict(), **ours}, sort_keys=True)


def after(plan: Scheduler, recall: Recall | None, outcome: Outcome) -> Recall:
    """With one more outcome, which is no earlier than the last; None before the first one."""
    if recall is None:
        return Recall(outcome.title, Card(card_id=1, due=outcome.at), 0, (outcome.share,), outcome.at)
    if outcome.at - recall.last <= SITTING:
        return replace(recall, title=outcome.title, sitting=(*recall.sitting, outcome.share), last=outcome.at)
    card = reviewed(plan, recall)
    return Recall(outcome.title, card, recall.before + 1, (outcome.share,), outcome.at)


def reviewed(plan: Scheduler, recall: Recall) -> Card:
    """The card after the last sitting; its `due` is when the item is due."""
    return plan.review_card(recall.card, _rating(recall.share), recall.last)[0]


def _rating(share: float) -> Rating:
    if share < AGAIN:
        return Rating.Again
    return Rating.Hard if share < HARD else Rating.Good


def as_text(recall: Recall) -> str:
    """JSON, for keeping; nothing is rounded."""
    made = {"title": recall.title, "card": recall.card.to_dict(), "before": recall.before}
    return json.dumps(made | {"sitting": recall.sitting, "last": recall.last.isoformat()}, ensure_ascii=False)


def from_text(text: str) -> Recall:
    """What `as_text` wrote. Raises ValueError, KeyError or TypeError where it is anything else."""
    made = json.loads(text)
    card, last = Card.from_dict(made["card"]), datetime.fromisoformat(made["last"])
    sitting = tuple(float(share) for share in made["sitting"])
    if not sitting:
        raise ValueError("a sitting without an outcome")
    return Recall(str(made["title"]), card, int(made["before"]), sitting, last)
