"""A picture that stays while one screen gives way to another: what would be seen in between costs a frame."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from typing import Any
from weakref import WeakKeyDictionary

from textual.app import App

LONGEST = 0.03
"""Seconds after which what there is is shown: within a twentieth of a second one sees that the key was heard."""

_HELD: WeakKeyDictionary[App[Any], int] = WeakKeyDictionary()
"""How often the picture is held at the moment."""


def is_held(app: App[Any]) -> bool:
    """Whether nothing is drawn at the moment."""
    return _HELD.get(app, 0) > 0


def hold_picture(app: App[Any]) -> Callable[[], None]:
    """Draws nothing until the function given back is called, or LONGEST is over."""
    held = ExitStack()
    held.callback(lambda: app.screen.refresh())
    held.enter_context(app.batch_update())
    _HELD[app] = _HELD.get(app, 0) + 1
    held.callback(lambda: _HELD.update({app: _HELD[app] - 1}))
    app.set_timer(LONGEST, held.close)
    return held.close
