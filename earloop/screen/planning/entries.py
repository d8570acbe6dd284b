"""The lines of today's plan: steps with their rests, then what is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from earloop.coaching.due import Due
from earloop.coaching.items import told
from earloop.coaching.plan import REST, Plan, clock
from earloop.journal.place import short_name
from earloop.line.counted import counted
from earloop.screen.signs import Signs


@dataclass(frozen=True, slots=True)
class Entry:
    """`step` is a step's place, `due` something due; a line with neither is a heading and can't be taken."""

    text: str
    step: int | None = None
    due: Due | None = None


def entries(plan: Plan, due: Sequence[Due] | None, on: int | None, signs: Signs, here: str) -> list[Entry]:
    """All lines; `on` is the step under way, `here` the score on the stand. Without `due` it is still looked for."""
    rests = set(plan.rests())
    found: list[Entry] = []
    for place, step in enumerate(plan.steps):
        if place in rests:
            found.append(Entry(f"    rest {REST} minutes"))
        mark = signs.plays if place == on else " "
        passes = counted(step.passes, "pass", "passes")
        row = f"{mark}{place + 1:>3}  {step.layer:<13}{step.way:<6}{passes:>9}{step.tempo:>7} %{clock(step.seconds):>8}"
        found.append(Entry(row, step=place))
    if not plan.steps:
        found.append(Entry("    no steps are left: r proposes them anew"))
    if due is None:
        found.append(Entry("one moment: looking for what is due"))
    elif not due:
        found.append(Entry("Nothing is due today: what you sing and answer comes back in time"))
    else:
        found.append(Entry("Due today"))
    found += [Entry(_due_text(one, here), due=one) for one in due or ()]
    return found


def _due_text(one: Due, here: str) -> str:
    where = "" if one.item.score == here else f"  ({one.title or short_name(one.item.score)})"
    phrase = "" if one.item.phrase < 0 else f"phrase {one.item.phrase + 1}, "
    return f"     {phrase}{told(one.item.name)}, last {round(100 * one.share)} % right{where}"
