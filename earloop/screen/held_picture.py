"""A picture that stays while one screen gives way to another: what would be seen in between costs a frame."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from typing import Any

from textual.app import App

LONGEST = 0.03
"""Seconds after which what there is is shown: within a twentieth of a second one sees that the key was heard."""


def hold_picture(app: App[Any]) -> Callable[[], None]:
    """Draws nothing until the function given back is called, or LONGEST is over."""
    held = ExitStack()
    held.callback(lambda: app.screen.refresh())
    held.enter_context(app.batch_update())
    app.set_timer(LONGEST, held.close)
    return held.close
