"""A real screen at its busiest: Textual redraws every cell of a large terminal thirty times a second."""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable

from rich.segment import Segment
from rich.style import Style
from textual.app import App, ComposeResult
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

FRAMES = 30
SIZE = (140, 40)
REDRAWS: list[tuple[float, float]] = []
"""Begin and end of each, in monotonic seconds."""


class Everything(Widget):
    """Changes every cell in every frame."""

    def __init__(self) -> None:
        super().__init__()
        self.turn = 0
        self.styles_in_use = [Style.parse(f"color({number})") for number in range(16, 48)]

    def render_line(self, y: int) -> Strip:
        words = (chr(65 + (self.turn + x + y) % 26) * 2 for x in range(self.size.width // 2))
        styles = itertools.cycle(self.styles_in_use[(self.turn + y) % 16 :])
        return Strip([Segment(word, next(styles)) for word in words])

    def render_lines(self, crop: Region) -> list[Strip]:
        begun = time.monotonic()
        strips = super().render_lines(crop)
        REDRAWS.append((begun, time.monotonic()))
        return strips

    def go_on(self) -> None:
        self.turn += 1
        self.refresh()


class BusyScreen(App[None]):
    """Calls `beside` in a thread once it draws, and leaves when that returns."""

    CSS = "Everything { width: 100%; height: 100%; }"

    def __init__(self, beside: Callable[[], None]) -> None:
        super().__init__()
        self.beside = beside

    def compose(self) -> ComposeResult:
        yield Everything()

    def on_mount(self) -> None:
        everything = self.query_one(Everything)
        self.set_interval(1 / FRAMES, everything.go_on)
        self.run_worker(self._work, thread=True)

    def _work(self) -> None:
        self.beside()
        self.call_from_thread(self.exit)


def run_beside(beside: Callable[[], None]) -> None:
    """Returns when `beside` has."""
    BusyScreen(beside).run(headless=True, size=SIZE)
