"""The bridged layer: before a line goes on after an interruption, its last tone is sounded once more.

In true time the bridge takes its time from the tone before it (at most half), so that the page's own onsets
stay; closed up it gets time of its own.
"""

from __future__ import annotations

from dataclasses import replace

from earloop.layers.layer import Layer, LayerTone
from earloop.layers.one_line import interleaved
from earloop.line import Span
from earloop.reading.record import Reading

LONGEST_BRIDGE = 1.0
"""Quarters: long enough to be heard as a tone, short enough to stay an aside."""


def bridged(reading: Reading, span: Span, depth: int, true_time: bool) -> Layer:
    """The interleaved layer with the reading's bridges sounded."""
    base = interleaved(reading, span, depth, true_time)
    sources = {bridge.before: bridge.tone for bridge in reading.bridges if bridge.tone in span}
    tones: list[LayerTone] = []
    pushed = 0.0
    for tone in base.tones:
        onset = tone.onset + pushed
        source = sources.get(tone.source)
        if source is not None and tones:
            bridge, pushed = _bridge(reading, source, tones, onset, tone.length, true_time, pushed)
            tones.append(bridge)
            onset = tone.onset + pushed
        tones.append(replace(tone, onset=onset))
    return replace(base, name="bridged", tones=tuple(tones), length=base.length + pushed)


def _bridge(
    reading: Reading,
    source: int,
    tones: list[LayerTone],
    onset: float,
    next_length: float,
    true_time: bool,
    pushed: float,
) -> tuple[LayerTone, float]:
    """The bridge before a tone at `onset`, and how far everything after is now pushed. May shorten `tones[-1]`."""
    before = tones[-1]
    pitch, voice = reading.line[source].pitch, reading.voices[source]
    if not true_time:
        length = min(LONGEST_BRIDGE, max(next_length, 0.25))
        return LayerTone(source, onset, length, pitch, voice, "bridge"), pushed + length
    room = max(onset - before.end, 0.0)
    length = min(LONGEST_BRIDGE, max(room, before.length / 2))
    at = onset - length
    if before.end > at:
        tones[-1] = replace(before, length=max(0.0, at - before.onset))
    return LayerTone(source, at, length, pitch, voice, "bridge"), pushed
