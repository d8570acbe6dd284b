"""What is on the screen, as plain text."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual.app import App
from textual.pilot import Pilot

SNAPSHOTS = Path(__file__).parent / "snapshots"


def seen(app: App[Any]) -> str:
    """The whole screen, line by line, spaces at the ends left out."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips) + "\n"


def matches(text: str, name: str) -> None:
    """The text equals the stored one; with EARLOOP_RENEW_SNAPSHOTS set it is stored first."""
    path = SNAPSHOTS / f"{name}.txt"
    if os.environ.get("EARLOOP_RENEW_SNAPSHOTS"):
        SNAPSHOTS.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == text, f"{name} looks different; renew with EARLOOP_RENEW_SNAPSHOTS=1"


async def until(pilot: Pilot[Any], holds: Callable[[], bool], seconds: float = 10.0) -> None:
    """Wait for something the app does in its own time."""
    for _ in range(int(seconds / 0.02)):
        if holds():
            return
        await pilot.pause(0.02)
    raise AssertionError("it never came to hold")
