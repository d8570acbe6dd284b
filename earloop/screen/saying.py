"""A screen whose lines of words are asked for many times a second and drawn only where they differ."""

from __future__ import annotations

from typing import Generic, TypeVar

from rich.text import Text
from textual.screen import Screen
from textual.widgets import Static

Value = TypeVar("Value")


class Saying(Screen[Value], Generic[Value]):
    """`_say` puts words into a Static; words that stand there already cost nothing."""

    def __init__(self, id: str | None = None) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id=id)
        self._shown: dict[str, str] = {}

    def _say(self, name: str, content: str | Text) -> None:
        """These words, in the Static with this id."""
        plain = repr(content)
        if self._shown.get(name) != plain:
            self._shown[name] = plain
            self.query_one(f"#{name}", Static).update(content)
