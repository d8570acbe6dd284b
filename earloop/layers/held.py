"""The held layer: the page, with each structural tone sounding on softly below its own decoration."""

from __future__ import annotations

from dataclasses import replace

from earloop.layers.layer import Layer, LayerTone
from earloop.layers.one_line import ornamented
from earloop.line import Span
from earloop.reading.record import Reading, Voice


def held(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """Every tone, and below it the structural tone of its line until the next one takes over."""
    page = ornamented(reading, span, 0, True)
    start = reading.line[span.first].onset
    tones = list(page.tones)
    for i, until in _held_spans(reading, span, max(1, depth)):
        tone = reading.line[i]
        if until > tone.end + 1e-9:
            length = until - tone.onset
            tones.append(LayerTone(i, tone.onset - start, length, tone.pitch, reading.voices[i], "held"))
    tones.sort(key=lambda t: (t.onset, t.role == "held"))
    return replace(page, name="held", tones=tuple(tones), depth=depth)


def _held_spans(reading: Reading, span: Span, depth: int) -> list[tuple[int, float]]:
    """(structural tone, quarter at which the next of its line or its phrase's end takes over)."""
    out: list[tuple[int, float]] = []
    for phrase in reading.phrases:
        first, last = max(phrase.first, span.first), min(phrase.last, span.last)
        if first > last:
            continue
        end = reading.line[last].end
        current: dict[Voice, int] = {}
        for i in range(first, last + 1):
            if reading.weights.level[i] < depth:
                continue
            voice = reading.voices[i]
            ending = list(current) if voice == "single" else [v for v in (voice, "single") if v in current]
            out.extend((current.pop(v), reading.line[i].onset) for v in ending)
            current[voice] = i
        out.extend((i, end) for i in current.values())
    return sorted(out)
