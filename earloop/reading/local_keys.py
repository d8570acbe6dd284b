"""The little key each gesture is heard in: a gesture repeated at another pitch keeps its degrees."""

from __future__ import annotations

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import LocalKey, Tonic


def find_local_keys(
    line: Line, home: Tonic, gestures: tuple[Span, ...], decided: Decisions = NONE_DECIDED
) -> tuple[LocalKey, ...]:
    """One local key a gesture, in order."""
    return tuple(LocalKey(span, home.key, home.sure) for span in gestures)
