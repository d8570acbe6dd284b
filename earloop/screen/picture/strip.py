"""A row of a canvas as what a widget shows."""

from __future__ import annotations

from collections.abc import Iterable

from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from earloop.screen.picture.canvas import Run


def strip_of(view: Widget, runs: Iterable[Run], prefix: str = "phrase-view") -> Strip:
    """The runs in the view's own styles, those of its component classes that begin with `prefix`."""

    def style(name: str) -> Style:
        return view.get_component_rich_style(f"{prefix}--{name}", partial=True) if name else Style.null()

    plain = view.rich_style
    return Strip([Segment(text, plain + style(name)) for text, name in runs], view.size.width)
