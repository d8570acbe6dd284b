"""Nested time-spans: which tones compete to stand for a stretch of the line (Lerdahl & Jackendoff 1983, ch. 6).

Spans are cut by beats, then measures, then pairs of measures counted from the phrase's own start. No span crosses a
phrase's end. What a phrase has before its first beat of a kind belongs to the span of that beat (their segmentation
rule of augmented spans), and a tone held well across a beat belongs to that beat.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading.pulse import Pulse

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_NEAR = 1e-3


def beat_spans(length: Floats, pulse: Pulse, phrase: Ints) -> list[Ints]:
    """Span number of every tone, one column a kind of beat, finest first, the measure last."""
    opening = _openings(phrase)
    return [_beat_spans(length, pulse, opening, k) for k in range(pulse.periods.shape[1])]


def measure_spans(measure: Ints, phrase: Ints) -> list[Ints]:
    """Two, four and eight measures at a time, counted from the phrase's own first measure."""
    bars = measure - measure[_openings(phrase)]
    return [bars // pair for pair in (2, 4, 8)]


def _beat_spans(length: Floats, pulse: Pulse, opening: Ints, k: int) -> Ints:
    period = pulse.periods[:, k]
    number = np.floor((pulse.place + _NEAR) / period)
    before = (number + 1) * period - pulse.place
    after = np.minimum(length - before, period)
    number += (after > before + _NEAR) & (before < 0.5 * period + _NEAR)
    if k == pulse.periods.shape[1] - 1:
        number += pulse.measure - np.floor((pulse.place + _NEAR) / period)
    upbeat = (number == number[opening]) & (pulse.strength[opening] < np.log2(period / pulse.bar) - _NEAR)
    out: Ints = (number + upbeat).astype(np.int64)
    return out


def _openings(phrase: Ints) -> Ints:
    """For every tone the index of its phrase's first tone."""
    begins = np.append(True, np.diff(phrase) != 0)
    out: Ints = np.flatnonzero(begins)[np.cumsum(begins) - 1]
    return out
