"""Links along each line, the chains they make, and the bridges a listener needs."""

from __future__ import annotations

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Bridge, Chain, Link, Voice, Weights


def find_links(
    line: Line,
    phrases: tuple[Span, ...],
    voices: tuple[Voice, ...],
    weights: Weights,
    decided: Decisions = NONE_DECIDED,
) -> tuple[tuple[Link, ...], tuple[Chain, ...], tuple[Bridge, ...]]:
    """Links in order, chains in order of their first tone, and bridges in order."""
    return (), (), ()
