"""The moment at which something happens, and the day it is for the player: only here is the date asked for."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

SHIFT = timedelta()
"""How far the player's calendar is ahead of the machine's: nothing, but for tests of the weeks between."""


def now() -> datetime:
    """In UTC."""
    return datetime.now(UTC) + SHIFT


def today() -> date:
    """By the machine's own zone."""
    return now().astimezone().date()
