"""Where the line breathes: phrases, from silences, long tones and the score's own signs."""

from __future__ import annotations

import numpy as np

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Tonic


def find_phrases(
    line: Line, home: Tonic, decided: Decisions = NONE_DECIDED
) -> tuple[tuple[Span, ...], tuple[float, ...]]:
    """Phrases in order, covering the line, and how sure each phrase's end is (the last is 1.0)."""
    columns = line.columns
    size = len(line)
    middle = float(np.median(columns.ioi)) or 1.0
    ends = {int(i) for i in np.flatnonzero((columns.gap > 0) | (columns.ioi >= 2.0 * middle))}
    ends |= {i for i, tone in enumerate(line.tones) if tone.marks.break_after or tone.marks.fermata}
    ends |= {i for i, on in decided.phrase_ends.items() if on}
    ends -= {i for i, on in decided.phrase_ends.items() if not on}
    inner = sorted(i for i in ends if 0 <= i < size - 1)
    firsts = [0, *(i + 1 for i in inner)]
    lasts = [*inner, size - 1]
    return tuple(Span(a, b) for a, b in zip(firsts, lasts, strict=True)), (*([0.5] * len(inner)), 1.0)
