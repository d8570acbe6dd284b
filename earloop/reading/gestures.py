"""Gestures inside phrases: smaller groups, often a short approach to one long tone (agogic accent)."""

from __future__ import annotations

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions


def find_gestures(line: Line, phrases: tuple[Span, ...], decided: Decisions = NONE_DECIDED) -> tuple[Span, ...]:
    """Gestures in order, covering the line; every phrase end is also a gesture end."""
    return phrases
