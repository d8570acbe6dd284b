"""The widget that shows both readings, all systems one below the other, with the present difference in sight."""

from __future__ import annotations

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
from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.systems import System
from earloop.screen.picture.tone_view import ToneView
from earloop.session.comparing import Side

SURELY_SCROLLED = 300
"""Tones that have no room in any window: the bar is there from the first frame, which is not laid out twice."""


class BothView(ToneView):
    """Shows Both; `place` moves the sign of the sounding tone over it."""

    gutter_width = GUTTER

    def __init__(self, id: str) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id)
        self._both: Both | None = None
        self._side: Side = ""

    def show(self, both: Both) -> None:
        if len(both.mine) >= SURELY_SCROLLED:
            self._show_bar()
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
        both = self._both
        if both is None or self.size.width <= GUTTER:
            return
        self._lay_out(both.mine, (both.mine.line, both.labels, *both.degrees), lambda: widest_texts(both))
        self._tops = [SIZE * k for k in range(len(self._systems) + 1)]
        self._be_high(self._tops[-1])
        if both.present is not None:
            self._bring_in_sight(both.present.first)
        self._renew()

    def _draw(self, k: int) -> Canvas:
        assert self._both is not None
        return draw_both(self._both, self._systems[k], self.size.width)

    def render_line(self, y: int) -> Strip:
        k, row = divmod(y + self.scroll_offset.y, SIZE)
        if self._both is None or k >= len(self._systems):
            return self.blank()
        if k not in self._drawn:
            self._drawn[k] = self._draw(k)
        styles, signs = self._laid_over(self._both, self._systems[k], row)
        return self.strip_of(self._drawn[k].runs(row, styles, signs))

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
