"""Both, one after the other: what was sung or played, then the line itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from earloop.performing.events import Event, Performance, Strand

BETWEEN = 1.0
"""Quarters of silence between the two."""
MINE: Strand = "middle"
"""The answer has a timbre that the line itself has only where it has three voices."""
LOUDNESS = 0.6

Sounded = tuple[float, float, float]
"""Onset and length in seconds, and the fractional MIDI key."""


def side_by_side(mine: Sequence[Sounded], theirs: Performance) -> Performance:
    """One pass: mine at its own pace and with its own cents, silence, then theirs once, without drone or answer gap."""
    pace = 60.0 / theirs.tempo
    first = min((onset for onset, _, _ in mine), default=0.0)
    sung = [_event(onset - first, length, key, pace) for onset, length, key in mine]
    begin = max((event.onset + event.length for event in sung), default=0.0)
    begin += BETWEEN if sung else 0.0
    line = [event for event in theirs.events if event.strand != "drone"]
    end = theirs.answer_from if theirs.answer_from is not None else theirs.length
    return Performance(
        events=(*sung, *(replace(event, onset=event.onset + begin) for event in line)),
        length=begin + end,
        tempo=theirs.tempo,
        title=f"{theirs.title}: yours, then the line",
    )


def _event(onset: float, length: float, key: float, pace: float) -> Event:
    near = round(key)
    return Event(onset / pace, max(0.05, length / pace), near, LOUDNESS, MINE, cents=100 * (key - near))
