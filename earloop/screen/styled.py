"""A screen that comes back with the styles it left with."""

from __future__ import annotations

from textual import events


class StyledOnce:
    """Put before Textual's own class of screen: finding all styles again at each return takes longer than drawing."""

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        """Each widget had its style when it came; a look chosen meanwhile is given to all screens."""
        event.refresh_styles = False
