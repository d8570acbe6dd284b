"""Rows of a canvas as what a widget shows."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from earloop.screen.picture.canvas import Run


class Inked(Widget):
    """Draws runs in its own styles, those of its component classes that begin with `inks_of`.

    Each is made once, and anew when the look changes: a row has many runs, and a frame many rows.
    """

    inks_of: ClassVar[str] = "phrase-view"
    _inks: dict[str, Style] | None = None

    def strip_of(self, runs: Iterable[Run]) -> Strip:
        """One row."""
        if self._inks is None:
            self._inks = {"": self.rich_style}
        return Strip([Segment(text, self._inks.get(name) or self._ink(name)) for text, name in runs], self.size.width)

    def blank(self) -> Strip:
        """A row with nothing on it."""
        return self.strip_of(((" " * self.size.width, ""),))

    def notify_style_update(self) -> None:
        self._inks = None
        super().notify_style_update()

    def _ink(self, name: str) -> Style:
        assert self._inks is not None
        style = self._inks[""] + self.get_component_rich_style(f"{self.inks_of}--{name}", partial=True)
        self._inks[name] = style
        return style
