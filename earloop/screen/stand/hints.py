"""The hint line: the keys that apply now, as many as fit, each to be pressed or clicked."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby

from rich.style import Style
from rich.text import Text

from earloop.screen.keys import CORRECTING, KEYS, PICKING, RELEASING, Key, When
from earloop.screen.signs import Signs
from earloop.session.session import Session

MOST_NAMED = 4
"""A longer run of keys with one meaning is written as first-last."""
HINT_LINES = 3
BETWEEN = 2
"""Cells between two runs."""


def circumstances(session: Session | None, picking: When | None) -> frozenset[When]:
    """Which `when`s of the key table hold now."""
    if session is None:
        return frozenset(("always",))
    if picking is not None:
        return frozenset((picking,))
    holds: set[When] = {"always", "score"}
    if session.marks is not None:
        holds.add("marked")
    if session.desk.can_undo:
        holds.add("undo")
    if session.desk.decided.unplaced:
        holds.add("unplaced")
    if session.desk.can_redo:
        holds.add("redo")
    if session.desk.decided_about(session.cursor):
        holds.add("decided")
    return frozenset(holds)


@lru_cache(maxsize=16)
def hints(holds: frozenset[When], signs: Signs, width: int) -> Text:
    """The keys as text in up to HINT_LINES lines; those for help and for leaving always have room.

    Where there isn't room for all, those that correct give way first, from the last: the other screens stay in sight.
    """
    keys = tuple(key for key in KEYS if key.hint and key.when in holds)
    keys = PICKING if "picking" in holds else RELEASING if "releasing" in holds else keys
    runs = [Hint(list(run), signs) for _, run in groupby(keys, key=lambda key: (key.short, key.when == "always"))]
    last = [run for run in runs if run.keys[0].when == "always"]
    runs = [run for run in runs if run not in last]
    while len(lines := _in_lines([*runs, *last], width)) > HINT_LINES and runs:
        giving_way = [run for run in runs if run.corrects] or [run for run in runs if run.lasting] or runs
        runs.remove(giving_way[-1])
    return _as_text(lines[:HINT_LINES])


def _in_lines(runs: list[Hint], width: int) -> list[list[Hint]]:
    lines: list[list[Hint]] = [[]]
    used = 0
    for run in runs:
        if used and used + run.size > width + BETWEEN:
            lines.append([])
            used = 0
        lines[-1].append(run)
        used += run.size
    return lines


class Hint:
    """Keys with one meaning."""

    def __init__(self, keys: list[Key], signs: Signs) -> None:
        self.keys = keys
        written = [signs.words(key.written) for key in keys]
        self.between = " "
        if len(keys) > MOST_NAMED:
            self.keys, written, self.between = [keys[0], keys[-1]], [written[0], written[-1]], "-"
        self.written = written
        self.size = len(self.between.join(written)) + len(keys[0].short) + 1 + BETWEEN
        self.lasting = keys[0].when == "score"
        self.corrects = self.lasting and keys[0] in CORRECTING

    def write(self, text: Text) -> None:
        """Each key can be clicked; the words belong to the last."""
        pressed = Style()
        for place, (key, written) in enumerate(zip(self.keys, self.written, strict=True)):
            pressed = Style(meta={"@click": f"screen.{key.action}"})
            text.append(self.between if place else "", style=Style(bold=self.between != " "))
            text.append(written, style=pressed + Style(bold=True))
        text.append(" ")
        text.append(self.keys[-1].short, style=pressed)
        text.append("  ")


def _as_text(lines: list[list[Hint]]) -> Text:
    text = Text(no_wrap=True, overflow="crop")
    for number, line in enumerate(lines):
        text.append("\n" if number else "")
        for run in line:
            run.write(text)
    return text
