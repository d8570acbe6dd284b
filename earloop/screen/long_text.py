"""A long text to scroll in, of which only the rows in sight are drawn."""

from __future__ import annotations

from collections.abc import Sequence

from rich.segment import Segment
from rich.text import Text
from textual.geometry import Size
from textual.strip import Strip

from earloop.screen.picture.scrolled import Scrolled


class LongText(Scrolled, can_focus=True):
    """Shows these lines, each broken into rows where the window is too narrow for it."""

    def __init__(self, lines: Sequence[Text]) -> None:
        super().__init__()
        self.lines = lines
        self.rows: list[Text] = []

    def render_line(self, y: int) -> Strip:
        place, ground = y + self.scroll_offset.y, self.rich_style
        row = self.rows[place] if place < len(self.rows) else Text()
        said = Segment.apply_style(row.render(self.app.console), ground)
        return Strip(said).adjust_cell_length(self.size.width, ground)

    def _arrange(self) -> None:
        self.rows = [row for line in self.lines for row in self._broken(line)]
        self._be_large(Size(0, len(self.rows)))

    def _broken(self, line: Text) -> Sequence[Text]:
        wide = max(1, self.size.width)
        return [line] if line.cell_len <= wide else list(line.wrap(self.app.console, wide))
