"""The widget that shows both readings, all systems one below the other, with the present difference in sight."""

from __future__ import annotations

from bisect import bisect_right

from rich.segment import Segment
from textual import events
from textual.geometry import Size
from textual.strip import Strip

from earloop.screen.comparing.both_drawn import (
    GUTTER,
    LINES,
    RULER,
    SIZE,
    SKELETONS,
    Both,
    column,
    draw_both,
    widest_texts,
)
from earloop.screen.picture.systems import System, lay_out
from earloop.screen.picture.tone_view import ToneView
from earloop.session.comparing import Side


class BothView(ToneView):
    """Shows Both; `place` moves the sign of the sounding tone over it."""

    def __init__(self, id: str) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id)
        self._both: Both | None = None
        self._side: Side = ""

    def show(self, both: Both) -> None:
        self._both = both
        self._arrange()

    def place(self, playing: int | None, side: Side) -> None:
        """The sounding tone, and whose reading sounds; it is brought in sight."""
        if (playing, side) != (self._playing, self._side):
            self._playing, self._side = playing, side
            if playing is not None:
                self._bring_in_sight(playing)
            self.refresh()

    def _arrange(self) -> None:
        both, self._drawn = self._both, {}
        if both is None or self.size.width <= GUTTER:
            return
        self._systems = lay_out(both.mine, widest_texts(both), max(20, self.size.width - GUTTER))
        self.virtual_size = Size(self.size.width, SIZE * len(self._systems))
        if both.present is not None:
            self._bring_in_sight(both.present.first)
        self.refresh()

    def _bring_in_sight(self, index: int) -> None:
        k = next((k for k, system in enumerate(self._systems) if system.holds(index)), None)
        if k is None:
            return
        top = k * SIZE
        if top < self.scroll_offset.y or top + SIZE - 1 > self.scroll_offset.y + self.size.height:
            self.scroll_to(y=top, animate=False)

    def render_line(self, y: int) -> Strip:
        width, plain = self.size.width, self.rich_style
        k, row = divmod(y + self.scroll_offset.y, SIZE)
        if self._both is None or k >= len(self._systems):
            return Strip.blank(width, plain)
        if k not in self._drawn:
            self._drawn[k] = draw_both(self._both, self._systems[k], width)
        styles, signs = self._laid_over(self._both, self._systems[k], row)
        runs = self._drawn[k].runs(row, styles, signs)
        return Strip([Segment(text, plain + self._style(name)) for text, name in runs], width)

    def _laid_over(self, both: Both, system: System, row: int) -> tuple[dict[int, str], dict[int, str]]:
        """The sounding tone's sign on the ruler, and a sign before the rows of whoever sounds."""
        if not self._side:
            return {}, {}
        if row == RULER and self._playing is not None and system.holds(self._playing):
            at = column(system, self._playing) + 1
            return {at: "playing"}, {at: both.signs.playing}
        side = 0 if self._side == "mine" else 1
        if row in (SKELETONS + side, LINES + side):
            return dict.fromkeys(range(GUTTER - 1), "playing"), {GUTTER - 1: both.signs.plays}
        return {}, {}

    def on_click(self, event: events.Click) -> None:
        """A click on a tone's columns chooses it."""
        tops = [k * SIZE for k in range(len(self._systems))]
        k = bisect_right(tops, event.y + self.scroll_offset.y) - 1
        if 0 <= k < len(self._systems):
            index = self._systems[k].tone_at(event.x - GUTTER)
            if index is not None:
                self.post_message(self.ToneChosen(index))
