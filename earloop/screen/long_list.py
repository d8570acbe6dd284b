"""A list to choose from in which only the rows in sight are made: of thousands it opens as soon as of ten."""

from __future__ import annotations

from collections.abc import Callable, Collection
from itertools import chain
from typing import ClassVar

from rich.cells import set_cell_size
from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip

from earloop.screen.picture.scrolled import Scrolled


class LongList(Scrolled, can_focus=True):
    """`row` gives the words of a row by its number, from 0; each has one line, cut where the window is too narrow.

    `chosen` is the row with the cursor, None where there is none to choose; `headings` are rows it passes by.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "by(-1)", "up", show=False),
        Binding("down", "by(1)", "down", show=False),
        Binding("pageup", "page(-1)", "page up", show=False),
        Binding("pagedown", "page(1)", "page down", show=False),
        Binding("home", "go(0)", "first", show=False),
        Binding("end", "go(-1)", "last", show=False),
        Binding("enter", "take", "take it", show=False),
    ]
    chosen: reactive[int | None] = reactive(None, repaint=False)

    class Chosen(Message):
        """The cursor went to another row."""

        def __init__(self, place: int) -> None:
            super().__init__()
            self.place = place

    class Taken(Message):
        """Enter, or a click on the row."""

        def __init__(self, place: int) -> None:
            super().__init__()
            self.place = place

    def __init__(
        self,
        row: Callable[[int], str],
        count: int = 0,
        chosen: int = 0,
        id: str | None = None,  # noqa: A002 - Textual's own word
    ) -> None:
        super().__init__(id=id)
        self.row, self.count = row, count
        self.headings: Collection[int] = ()
        self.set_reactive(LongList.chosen, self._within(chosen))

    def fill(self, count: int, chosen: int = 0, headings: Collection[int] = ()) -> None:
        """So many rows from now on, all of them anew, the cursor on one of them; nobody is told of that."""
        longer = count != self.count and self.styles.auto_dimensions
        self.count, self.headings = count, headings
        self.set_reactive(LongList.chosen, self._within(chosen))
        self._show_bar_if_long()
        self._arrange()
        self.refresh(layout=longer)

    def choose(self, place: int, way: int = 1) -> None:
        """The cursor to that row, or the nearest that can be chosen, sought this `way` (1, -1) first."""
        self.chosen = self._within(place, way)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Rows, where it is as high as what it holds; see Textual."""
        return self.count

    def on_mount(self) -> None:
        self._show_bar_if_long()

    def _show_bar_if_long(self) -> None:
        if self.count > self.app.size.height:
            self._show_bar()

    def watch_chosen(self, before: int | None, now: int | None) -> None:
        for place in (before, now):
            if place is not None:
                self.refresh_line(place)
        self._bring_in_sight()
        if now is not None:
            self.post_message(self.Chosen(now))

    def action_by(self, step: int) -> None:
        self.choose((self.chosen or 0) + step, 1 if step > 0 else -1)

    def action_page(self, step: int) -> None:
        self.action_by(step * max(1, self.size.height - 1))

    def action_go(self, place: int) -> None:
        self.choose(place if place >= 0 else self.count - 1, 1 if place >= 0 else -1)

    def action_take(self) -> None:
        if self.chosen is not None:
            self.post_message(self.Taken(self.chosen))

    def on_click(self, event: events.Click) -> None:
        """A click takes the row."""
        place = event.y + self.scroll_offset.y
        if place < self.count and place not in self.headings:
            self.choose(place)
            self.action_take()

    def render_line(self, y: int) -> Strip:
        width, place = self.size.width, y + self.scroll_offset.y
        words = self.row(place) if place < self.count else ""
        ink = "chosen" if place == self.chosen else "quiet" if place in self.headings else ""
        return self.strip_of(((set_cell_size(words, width), ink),))

    def _within(self, place: int, way: int = 1) -> int | None:
        if not self.count:
            return None
        place = max(0, min(self.count - 1, place))
        on, back = range(place, self.count), range(place, -1, -1)
        rows = chain(on, back) if way > 0 else chain(back, on)
        return next((row for row in rows if row not in self.headings), None)

    def _arrange(self) -> None:
        self._be_large(Size(0, self.count))
        self._bring_in_sight()

    def _bring_in_sight(self) -> None:
        if self.chosen is not None and self.size.height:
            self.scroll_to_region(Region(0, self.chosen, self.size.width, 1), animate=False, force=True, immediate=True)
