"""Today's practice: the plan for a phrase that is kept, given or proposed; and all that is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime

from earloop.coaching.due import Due, due_in
from earloop.coaching.lengths import pass_seconds
from earloop.coaching.plan import Plan, from_object
from earloop.coaching.proposing import propose
from earloop.coaching.standing import standings
from earloop.journal import Happening, Journal, moment
from earloop.journal.place import journal_path
from earloop.layers import LayerName
from earloop.reading import Reading

MINUTES = 20
"""How long a session is proposed to be at first (ours)."""


def plan_today(
    reading: Reading,
    score: str,
    phrase: int,
    minutes: int | None = None,
    now: datetime | None = None,
    given: Plan | None = None,
) -> Plan:
    """The plan to go by today for a phrase of the reading. Raises JournalError.

    A plan changed by the player holds for its day; else the one that was `given` with the score, until the player makes
    it another; else, and with `minutes`, one is proposed from what the journal says.
    """
    now = (now or moment.now()).astimezone()
    own: list[Happening] = []
    kept: tuple[datetime, Plan] | None = None
    if journal_path().exists():
        with Journal.open() as journal:
            own = journal.happenings(score, phrase=phrase)
            kept = _kept(journal, score, phrase)
    lengths = pass_seconds(reading, reading.phrases[phrase])
    if minutes is None and kept and (kept[1].source or kept[0].astimezone().date() == now.date()):
        return _fitting(kept[1], lengths)
    if minutes is None and given is not None and given.phrase == phrase:
        return _fitting(given, lengths)
    return propose(phrase, lengths, standings(own), minutes or (kept[1].minutes if kept else MINUTES))


def due_today(now: datetime | None = None) -> tuple[Due, ...]:
    """What is due on all scores. After years of practice the first time takes seconds. Raises JournalError."""
    return due_on((now or moment.now()).astimezone().date())


def due_on(day: date) -> tuple[Due, ...]:
    """What is due on that day; no journal is made for looking into it. Raises JournalError."""
    if not journal_path().exists():
        return ()
    with Journal.open() as journal:
        return tuple(due_in(journal, day))


def plan_to_give(reading: Reading, score: str, phrase: int, source: str, minutes: int | None = None) -> Plan:
    """The plan for a student: the one kept for the phrase, else one for somebody who never heard it."""
    kept = None
    if journal_path().exists():
        with Journal.open() as journal:
            kept = _kept(journal, score, phrase)
    if kept is not None and minutes is None:
        return replace(kept[1], source=source)
    lengths = pass_seconds(reading, reading.phrases[phrase])
    return replace(propose(phrase, lengths, {}, minutes or MINUTES), source=source)


def _fitting(plan: Plan, lengths: Mapping[LayerName, float]) -> Plan:
    """Without the layers that the reading doesn't have, and with the lengths it gives the others."""
    steps = (replace(step, pass_seconds=lengths[step.layer]) for step in plan.steps if step.layer in lengths)
    return replace(plan, steps=tuple(steps))


def _kept(journal: Journal, score: str, phrase: int) -> tuple[datetime, Plan] | None:
    found = journal.kept_plan(score, phrase)
    if found is None:
        return None
    try:
        return found[0], replace(from_object(found[1]), phrase=phrase)
    except ValueError:  # made by another earloop: the proposal takes its place
        return None
