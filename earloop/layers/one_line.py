"""The bare layers: some of the page's tones, each prolonged through its own decoration.

A kept tone sounds on until the next kept tone, over what was dropped after it (prolongation), but never across
a written rest, the other line or the end of its phrase.
"""

from __future__ import annotations

from collections.abc import Collection

from earloop.layers.layer import Layer, LayerName, LayerTone
from earloop.line import Span
from earloop.reading.record import Reading, Voice

ALL: frozenset[Voice] = frozenset(("upper", "middle", "lower", "single"))


def skeleton(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """Structural tones at `depth`, all lines."""
    return _bare("skeleton", reading, span, depth, true_time, ALL)


def upper(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """The upper line. Where the melody is one line, its tones belong to every line."""
    return _bare("upper", reading, span, depth, true_time, _line_of(reading, span, "upper"))


def lower(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """The lower line (with a middle one when there is one too). Single passages belong to it as well."""
    return _bare("lower", reading, span, depth, true_time, _line_of(reading, span, "lower"))


def interleaved(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """All lines, woven as on the page, without the smallest ornaments."""
    return _bare("interleaved", reading, span, depth, true_time, ALL)


def ornamented(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """The page as it stands: every tone, at its own time."""
    return _bare("ornamented", reading, span, 0, True, ALL)


def shared(reading: Reading, span: Span, depth: int) -> tuple[int, ...]:
    """The structural tones that the upper and the lower layer share: where the melody is a single line."""
    return tuple(i for i in span.indexes if reading.weights.level[i] >= depth and reading.voices[i] == "single")


def _line_of(reading: Reading, span: Span, wanted: Voice) -> frozenset[Voice]:
    with_middle: frozenset[Voice] = frozenset(("middle",)) if wanted == "lower" else frozenset()
    return frozenset((wanted, "single")) | with_middle


def _bare(
    name: LayerName, reading: Reading, span: Span, depth: int, true_time: bool, voices: Collection[Voice]
) -> Layer:
    kept = [i for i in span.indexes if reading.weights.level[i] >= depth and reading.voices[i] in voices]
    start = reading.line[span.first].onset
    tones: list[LayerTone] = []
    clock = 0.0
    for i, last in zip(kept, prolonged(reading, span, kept, voices), strict=True):
        tone = reading.line[i]
        end = reading.line[last].end
        onset = tone.onset - start if true_time else clock
        length = max(tone.length, end - tone.onset)
        tones.append(LayerTone(i, onset, length, tone.pitch, reading.voices[i]))
        if not true_time:
            clock = onset + length + rest_after(reading, last)
    length = time_of(reading, span) if true_time else clock
    return Layer(name, span, tuple(tones), length, true_time, depth)


def prolonged(reading: Reading, span: Span, kept: list[int], voices: Collection[Voice]) -> list[int]:
    """For each kept tone the last tone through which it sounds on: itself where nothing after it was dropped."""
    ends = {phrase.last for phrase in reading.phrases}
    gap = reading.line.columns.gap.tolist()
    stops = [*kept[1:], span.last + 1][: len(kept)]
    out = []
    for i, stop in zip(kept, stops, strict=True):
        last = i
        while last + 1 < stop and last not in ends and gap[last] == 0 and reading.voices[last + 1] in voices:
            last += 1
        out.append(last)
    return out


def rest_after(reading: Reading, index: int) -> float:
    """The written silence after a tone in quarters, at most one whole note: what closing up keeps."""
    return min(4.0, float(reading.line.columns.gap[index]))


def time_of(reading: Reading, span: Span) -> float:
    """Quarters of one pass: to the end of the span's last tone and of the rest after it (at most a whole note)."""
    tones = reading.line.tones
    end = max(tones[i].end for i in range(max(span.first, span.last - 1), span.last + 1))
    return max(0.0, end - tones[span.first].onset) + rest_after(reading, span.last)
