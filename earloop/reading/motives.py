"""Motives and their treatments: repeated, ornamented, transposed, inverted and the rest."""

from __future__ import annotations

from earloop.line import Line, Span
from earloop.reading.record import Motive, Weights


def find_motives(
    line: Line, phrases: tuple[Span, ...], gestures: tuple[Span, ...], weights: Weights
) -> tuple[Motive, ...]:
    """Appearances of motives in order."""
    return ()
