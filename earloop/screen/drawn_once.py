"""A screen whose first frame is its last: it is not styled and laid out a second time for what has not changed."""

from __future__ import annotations

from typing import Generic, TypeVar

from textual import events
from textual.geometry import Region, Size
from textual.screen import Screen
from textual.strip import Strip

from earloop.screen.ground import one_row
from earloop.screen.held_picture import is_held
from earloop.screen.picture.scrolled import Scrolled

Value = TypeVar("Value")


class DrawnOnce(Screen[Value], Generic[Value]):
    """The base of all screens and panels."""

    def render_lines(self, crop: Region) -> list[Strip]:
        """Its ground; see Textual."""
        if self.styles.background.a < 1:  # what lies behind it shines through
            return super().render_lines(crop)
        return super().render_lines(one_row(crop)) * crop.height

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        """Each widget had its style when it came; a look chosen meanwhile is given to all screens."""
        event.refresh_styles = False

    def _compositor_refresh(self) -> None:
        # While a picture is held, what is made of another would be thrown away.
        if not is_held(self.app):
            for view in self.query(Scrolled):
                view.fit()
            super()._compositor_refresh()

    def _screen_resized(self, size: Size) -> None:
        # A new screen is laid out when it comes up, and then told of its size as if that were another.
        if self.outer_size != size:
            super()._screen_resized(size)
