"""What a key needs that the first frame does without: fetched in a quiet moment, before that key is pressed."""

from __future__ import annotations

import contextlib
import importlib

MODULES = (
    "earloop.scores.other_readings",
    "earloop.scores.package",
    "earloop.sounding.described",
    "rtmidi",
    "earloop.session.asking",
    "earloop.screen.asking.ask_screen",
    "earloop.session.remembered_input",
    "earloop.screen.journal.plots",
    "earloop.capture.client",
    "earloop.session.singing",
    "earloop.screen.singing.singing_screen",
)
"""Those that are imported where a key is answered."""


def fetch_ahead() -> None:
    """Import them; call it in a thread. What is missing is told of where it is needed."""
    for name in MODULES:
        with contextlib.suppress(ImportError, OSError):
            importlib.import_module(name)
