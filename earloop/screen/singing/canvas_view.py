"""A widget that shows a canvas, drawn anew only where it differs from what stands there."""

from __future__ import annotations

from textual.geometry import Region
from textual.message import Message
from textual.strip import Strip

from earloop.screen.picture.canvas import Canvas, Run
from earloop.screen.picture.strip import Inked


class CanvasView(Inked, can_focus=False):
    """`show` a canvas as wide and high as the widget."""

    class Resized(Message):
        """There is another width or height to draw for."""

    def __init__(self, id: str) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id=id)
        self._rows: list[list[Run]] = []

    def show(self, canvas: Canvas) -> None:
        """Draw the rows that changed."""
        rows = [canvas.runs(row) for row in range(len(canvas))]
        before, self._rows = self._rows, rows
        if len(before) != len(rows):
            self.refresh()
            return
        changed = [Region(0, y, self.size.width, 1) for y, row in enumerate(rows) if row != before[y]]
        if changed:
            self.refresh(*changed)

    def on_resize(self) -> None:
        self.post_message(self.Resized())

    def render_line(self, y: int) -> Strip:
        if y >= len(self._rows):
            return self.blank()
        return self.strip_of(self._rows[y])
