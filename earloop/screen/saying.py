"""A screen whose lines of words are asked for many times a second and drawn only where they differ."""

from __future__ import annotations

from typing import Generic, TypeVar

from rich.text import Text
from textual.widgets import Static

from earloop.screen.drawn_once import DrawnOnce

Value = TypeVar("Value")


class Saying(DrawnOnce[Value], Generic[Value]):
    """`_say` puts words into a Static; words that stand there already cost nothing."""

    def __init__(self, id: str | None = None) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id=id)
        self._shown: dict[str, str | Text] = {}

    def _say(self, name: str, content: str | Text, rows: int | None = None) -> None:
        """These words, in the Static with this id; where no line is broken, `rows` says how many there are."""
        before = self._shown.get(name)
        if before is not content and not _same(before, content):
            self._shown[name] = content
            said = self.query_one(f"#{name}", Static)
            if rows is not None:
                said.styles.height = rows
            height = said.styles.height
            # Laying out the screen takes longer than drawing the words: only where they may need more room or less.
            said.update(content, layout=height is None or height.is_auto)


def _same(before: str | Text | None, now: str | Text) -> bool:
    """Text is equal to another of the same words and spans, whatever the style of the whole is."""
    if isinstance(before, Text) and isinstance(now, Text):
        return before == now and before.style == now.style
    return type(before) is type(now) and before == now
