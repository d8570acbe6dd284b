"""What every picture of tones on the screen shares: its styles, and that a tone can be clicked."""

from __future__ import annotations

from typing import ClassVar

from rich.style import Style
from textual.message import Message
from textual.scroll_view import ScrollView

from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.systems import System

STYLES = (
    "quiet", "upper", "middle", "lower", "single", "skeleton", "lean", "link", "bridge", "boundary", "mark", "word",
    "decided", "cursor", "playing",
)  # fmt: skip


class ToneView(ScrollView, can_focus=False):
    """Systems one below the other, each drawn when it first comes in sight."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {f"phrase-view--{name}" for name in STYLES}

    class ToneChosen(Message):
        """A tone was clicked."""

        def __init__(self, index: int) -> None:
            super().__init__()
            self.index = index

    def __init__(self, id: str) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id=id)
        self._systems: tuple[System, ...] = ()
        self._drawn: dict[int, Canvas] = {}
        self._playing: int | None = None

    def _arrange(self) -> None:
        """Lay out the systems for the width there is."""

    def on_resize(self) -> None:
        self._arrange()

    def _style(self, name: str) -> Style:
        return self.get_component_rich_style(f"phrase-view--{name}", partial=True) if name else Style.null()
