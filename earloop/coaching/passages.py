"""Which stretch of a phrase a question lets sound: all of it, or whole gestures around the place in question."""

from __future__ import annotations

import numpy as np

from earloop.line import Span
from earloop.reading.record import Reading

MOST_TONES = 24
"""As much as can be kept in the ear at once; a longer phrase is asked about in stretches (by judgement, no source)."""


def passage(reading: Reading, phrase: int, around: int) -> Span:
    """The phrase; of a longer one as many whole gestures around the tone as fit, its own tones alone if none does."""
    whole = reading.phrases[phrase]
    if len(whole) <= MOST_TONES:
        return whole
    here = reading.gesture_of(around)
    first, last = reading.gestures[here].first, reading.gestures[here].last
    if last - first + 1 > MOST_TONES:
        first = max(first, min(around - MOST_TONES // 2, last - MOST_TONES + 1))
        return Span(first, first + MOST_TONES - 1)
    before, after = here - 1, here + 1
    while True:
        # Backward first: what led to a place tells more about it than what follows.
        if before >= 0 and _fits(whole, reading.gestures[before].first, last):
            first, before = reading.gestures[before].first, before - 1
        elif after < len(reading.gestures) and _fits(whole, first, reading.gestures[after].last):
            last, after = reading.gestures[after].last, after + 1
        else:
            return Span(first, last)


def stretches(reading: Reading, phrase: int) -> tuple[Span, ...]:
    """The phrase; a longer one in runs of whole gestures, one after the other, that cover it."""
    whole = reading.phrases[phrase]
    if len(whole) <= MOST_TONES:
        return (whole,)
    out: list[Span] = []
    first = whole.first
    while first <= whole.last:
        here = reading.gesture_of(first)
        last = min(reading.gestures[here].last, first + MOST_TONES - 1)
        while last < whole.last and reading.gestures[here].last == last:
            here += 1
            if not _fits(whole, first, reading.gestures[here].last):
                break
            last = reading.gestures[here].last
        out.append(Span(first, last))
        first = last + 1
    return tuple(out)


def nearest_tone(reading: Reading, span: Span, pc: int) -> int | None:
    """A tone of that pitch class: in the span where there is one, else the nearest of the line; None without any."""
    columns = reading.line.columns
    found = np.flatnonzero((columns.midi % 12 == pc) & (columns.length > 0))
    if not len(found):
        return None
    middle = (span.first + span.last) / 2
    inside = (found >= span.first) & (found <= span.last)
    offered = found[inside] if inside.any() else found
    return int(offered[np.abs(offered - middle).argmin()])


def _fits(whole: Span, first: int, last: int) -> bool:
    return whole.first <= first and last <= whole.last and last - first + 1 <= MOST_TONES
