"""A picture or list longer than the window, which is arranged for its size before its first frame."""

from __future__ import annotations

from textual.geometry import Region, Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from earloop.screen.picture.strip import Inked


class Scrolled(ScrollView, Inked):
    """`_arrange` is called when it is drawn and the size is another."""

    def __init__(self, id: str | None = None) -> None:  # noqa: A002 - Textual's own word
        super().__init__(id=id)
        self._arranged_for = Size()

    def _arrange(self) -> None:
        """Make ready for the size there is."""

    def render_lines(self, crop: Region) -> list[Strip]:
        """What is in sight; see Textual."""
        # The message that tells of a size comes after the first frame, which would then show nothing.
        self.fit()
        return super().render_lines(crop)

    def fit(self) -> None:
        """Arrange it, if the size is another: before its scroll bar is drawn, which would else move a frame later."""
        if self.size != self._arranged_for:
            self._arranged_for = self.size
            self._arrange()

    def _be_large(self, size: Size) -> None:
        """So much can be scrolled; what is seen of it has the same room."""
        self.set_reactive(Scrolled.virtual_size, size)
        # Textual looks whether a bar is needed when it lays the widget out, which may be before; its public way to have
        # that looked at again lays out the whole screen, at each decision that needs a row more or less.
        self._scroll_update(size)

    def _show_bar(self) -> None:
        """Where there is surely need of it, from the first frame: else it is laid out twice."""
        self.styles.overflow_y = "scroll"
        self.show_vertical_scrollbar = True
