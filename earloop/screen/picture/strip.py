"""Rows of a canvas as what a widget shows."""

from __future__ import annotations

from collections.abc import Iterable

from rich.segment import Segment
from rich.style import Style
from textual.color import Color
from textual.strip import Strip
from textual.widget import Widget

from earloop.screen.picture.canvas import Run

INKS: dict[str, tuple[str, str]] = {
    "quiet": ("quiet", ""),
    "upper": ("upper", ""),
    "middle": ("middle", ""),
    "lower": ("lower", ""),
    "single": ("single", ""),
    "skeleton": ("skeleton", "bold"),
    "lean": ("lean", ""),
    "link": ("quiet", ""),
    "bridge": ("lean", "bold"),
    "boundary": ("quiet", ""),
    "mark": ("lean", "bold"),
    "word": ("", "italic"),
    "decided": ("", "bold underline"),
    "cursor": ("", "underline bold"),
    "playing": ("", "reverse bold"),
    "chosen": ("", "reverse bold"),
    "strong": ("", "bold"),
}
"""What each ink of a run is: a colour of the look (none: the widget's own), and what the letters are besides."""


class Inked(Widget):
    """Draws runs in inks, on its own ground.

    Each ink is made once, and anew when the look changes: a row has many runs, and a frame many rows. They are no rules
    of the style sheet, because those are sought for each ink of each widget again.
    """

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
        colour, letters = INKS[name]
        shade = self.app.theme_variables.get(colour)
        ink = Style(color=Color.parse(shade).rich_color if shade else None) + Style.parse(letters)
        style = self._inks[name] = self._inks[""] + ink
        return style
