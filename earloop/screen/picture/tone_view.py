"""What every picture of tones on the screen shares: its styles, how it scrolls, and that a tone can be clicked."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from typing import ClassVar

from textual import events
from textual.geometry import Region, Size
from textual.message import Message

from earloop.reading import Reading
from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.scrolled import Scrolled
from earloop.screen.picture.systems import System, Widths, lay_out, widths_of


class ToneView(Scrolled, can_focus=False):
    """Systems one below the other, each drawn when it first comes in sight.

    Who arranges them sets `_tops`: the row on which each begins, and last the row below them all.
    """

    gutter_width: ClassVar[int]
    """Columns before the first tone of a system."""

    class ToneChosen(Message):
        """A tone was clicked."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(self, id: str) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id=id)
        self._systems: tuple[System, ...] = ()
        self._tops: list[int] = []
        self._drawn: dict[int, Canvas] = {}
        self._arranged: tuple[object, ...] = ()
        self._playing: int | None = None
        self._widths = Widths((), ())
        self._named_by: tuple[object, ...] = ()
        self._laid_by: tuple[object, ...] = ()

    def _lay_out(self, reading: Reading, named_by: tuple[object, ...], widest: Callable[[], Sequence[int]]) -> None:
        """The systems for the width there is; they stay where nothing they hang on has changed.

        `widest` gives for each tone the length of the widest text that stands at it, made of the objects of `named_by`.
        """
        if self._named_by != named_by:
            self._widths, self._named_by, self._laid_by = widths_of(reading.line, widest()), named_by, ()
        laid_by = (reading.phrases, reading.gestures, self.size.width)
        if self._laid_by != laid_by:
            self._systems = lay_out(reading, self._widths, max(20, self.size.width - self.gutter_width))
            self._laid_by = laid_by

    def _draw(self, k: int) -> Canvas:
        """The system of that number as it stands."""
        raise NotImplementedError

    def _renew(self) -> None:
        """After arranging: all of it anew where anything stands elsewhere, else the systems that look otherwise."""
        before, self._drawn = self._drawn, {}
        arranged = (self._systems, self._tops, self.size.width)
        if self._arranged != arranged:
            self._arranged = arranged
            self.refresh()
            return
        first = self.scroll_offset.y
        for k in range(self._system_at(first) or 0, len(self._systems)):
            top, bottom = self._tops[k] - first, self._tops[k + 1] - first
            if top >= self.size.height:
                break
            self._drawn[k] = self._draw(k)
            if not self._drawn[k].same_as(before.get(k)):
                self.refresh(Region(0, top, self.size.width, bottom - top))

    def _be_high(self, rows: int) -> None:
        """So many rows can be scrolled."""
        size = Size(self.size.width, rows)
        if self.virtual_size != size:
            self._be_large(size)

    def on_click(self, event: events.Click) -> None:
        """A click on a tone's columns chooses it."""
        k = self._system_at(event.y + self.scroll_offset.y)
        index = None if k is None else self._systems[k].tone_at(event.x - self.gutter_width)
        if index is not None:
            self.post_message(self.ToneChosen(index))

    def _system_at(self, row: int) -> int | None:
        """The system that has this row of the whole picture; None below the last."""
        return bisect_right(self._tops, row) - 1 if self._tops and row < self._tops[-1] else None

    def _system_of(self, index: int) -> int:
        return bisect_left(self._systems, index, key=lambda system: system.last)

    def _bring_in_sight(self, index: int) -> None:
        if not self._systems or not self._systems[0].first <= index <= self._systems[-1].last:
            return
        k = self._system_of(index)
        top, bottom = self._tops[k], self._tops[k + 1]
        if top < self.scroll_offset.y or bottom - 1 > self.scroll_offset.y + self.size.height:
            self.scroll_to(y=top, animate=False)
