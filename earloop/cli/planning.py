"""`plan`: a session on a phrase, proposed. `due`: what is due today, on all scores."""

from __future__ import annotations

import argparse
import json
from datetime import date
from pathlib import Path

from earloop.cli.columns import aligned
from earloop.cli.journal_in import known_as, name_of, opened
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import check_phrase, reading_of
from earloop.cli.words import CARE
from earloop.coaching.due import Due
from earloop.coaching.items import told
from earloop.coaching.plan import LONGEST, REST, REST_AFTER, Plan, as_object, clock, from_object
from earloop.coaching.proposing import why_it_ends
from earloop.coaching.today import due_on, plan_today
from earloop.journal import JournalError
from earloop.journal.moment import today
from earloop.journal.place import journal_path, short_name
from earloop.reading import Reading
from earloop.scores import ScoreError
from earloop.scores.package import is_package
from earloop.scores.received import receive


def plan(words: argparse.Namespace) -> int:
    """Print today's plan for the phrase: the one that is kept, or one proposed."""
    minutes_of(words)
    reading = reading_of(words, words.file)
    made = plan_of(words, reading)
    print(json.dumps(as_object(made)) if words.json else as_table(made, reading))
    return 0


def minutes_of(words: argparse.Namespace) -> int | None:
    """The minutes there are, None where they were not named. Raises Refusal."""
    if words.minutes is not None and not 1 <= words.minutes <= LONGEST:
        raise Refusal(f"a session of {words.minutes} minutes is out of reach: choose 1 to {LONGEST}")
    return words.minutes  # type: ignore[no-any-return]


def plan_of(words: argparse.Namespace, reading: Reading) -> Plan:
    """The plan for the phrase that the words ask for. Raises Refusal."""
    name = name_of(words)
    try:
        if journal_path().exists():
            with opened() as journal:
                name = known_as(journal, name)
        given = given_plan(words.file)
        phrase = phrase_of(words, reading, given)
        return plan_today(reading, name, phrase, words.minutes, given=given)
    except JournalError as error:
        raise Refusal(str(error)) from error


def given_plan(path: Path) -> Plan | None:
    """The plan that came with a package. Raises Refusal."""
    if not is_package(path):
        return None
    try:
        text = receive(path).plan
        return from_object(json.loads(text)) if text else None
    except ScoreError as error:
        raise Refusal(error.sentence) from error
    except (ValueError, RecursionError) as error:
        raise Refusal(f"the plan in {path.name} can't be read ({error}): ask for it again") from error


def phrase_of(words: argparse.Namespace, reading: Reading, given: Plan | None = None) -> int:
    """The phrase the words ask for, from 0; by default the one a given plan is for. Raises Refusal."""
    phrase = check_phrase(words, reading)
    if phrase is not None:
        return phrase
    return given.phrase if given is not None and given.phrase < len(reading.phrases) else 0


def as_table(made: Plan, reading: Reading) -> str:
    """A line a step, the rests, and the cautions."""
    span = reading.phrases[made.phrase]
    rows: list[tuple[str, ...]] = [("step", "layer", "way", "passes", "tempo", "time")]
    for number, step in enumerate(made.steps, start=1):
        rows.append((str(number), step.layer, step.way, str(step.passes), f"{step.tempo} %", clock(step.seconds)))
    lines = aligned(rows)
    for place in reversed(made.rests()):
        lines.insert(place + 1, f"      rest {REST} minutes")
    head = f"{reading.line.title or 'untitled'}, phrase {made.phrase + 1}: tones {span.first + 1} to {span.last + 1}"
    if made.source:
        head += f" (a plan from {made.source})"
    total = f"{clock(made.seconds)} of {made.minutes} minutes; a rest is due after {REST_AFTER} minutes at the latest"
    ends = why_it_ends(made)
    return "\n".join([head, "", *lines, "", total, *([ends] if ends else []), CARE])


def due(words: argparse.Namespace) -> int:
    """Print what is due on the day."""
    day = _day(words.on)
    try:
        found = due_on(day)
    except JournalError as error:
        raise Refusal(str(error)) from error
    if words.json:
        print(json.dumps([_due_object(one) for one in found], ensure_ascii=False))
    elif not found:
        print("Nothing is due: what you sing and answer comes back here when it is time.")
    else:
        rows: list[tuple[str, ...]] = [("due", "score", "phrase", "what", "last right", "times")]
        print("\n".join(aligned(rows + [_due_row(one) for one in found], gives_way=1)))
    return 0


def _day(word: str | None) -> date:
    if word is None:
        return today()
    try:
        return date.fromisoformat(word)
    except ValueError:
        raise Refusal(f"{word} is no date: write it as 2026-05-31") from None


def _due_row(one: Due) -> tuple[str, ...]:
    phrase = "" if one.item.phrase < 0 else str(one.item.phrase + 1)
    title = one.title or short_name(one.item.score)
    return (one.on.isoformat(), title, phrase, told(one.item.name), f"{100 * one.share:.0f} %", str(one.reviews))


def _due_object(one: Due) -> dict[str, object]:
    return {
        "due": one.on.isoformat(),
        "score": one.item.score,
        "title": one.title,
        "phrase": None if one.item.phrase < 0 else one.item.phrase,
        "item": one.item.name,
        "share": one.share,
        "reviews": one.reviews,
    }
