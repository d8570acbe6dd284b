"""Leans and releases: an unstable tone, then its stable neighbor by step."""

from __future__ import annotations

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Degree, Lean, Voice, Weights


def find_leans(
    line: Line,
    gestures: tuple[Span, ...],
    local_degrees: tuple[Degree, ...],
    voices: tuple[Voice, ...],
    weights: Weights,
    decided: Decisions = NONE_DECIDED,
) -> tuple[Lean, ...]:
    """Leans in order of their first tone."""
    return ()
