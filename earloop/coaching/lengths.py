"""Which layers a phrase has to practise, and how long one pass of each takes."""

from __future__ import annotations

from collections.abc import Mapping

from earloop.layers import NAMES, LayerName, build
from earloop.line import Span
from earloop.performing import Manner, perform
from earloop.reading import Reading


def pass_seconds(reading: Reading, span: Span) -> Mapping[LayerName, float]:
    """Seconds of one pass at 100 %, without an answer, for each layer that has something of its own to hear.

    A phrase of one line has no upper, lower or woven layer; without a bridge there is no bridged one.
    """
    found: dict[LayerName, float] = {}
    for name in NAMES:
        if not _has(reading, name, span):
            continue
        performance = perform(reading, build(reading, name, span), Manner())
        if performance.length > 0:
            found[name] = performance.length * 60 / performance.tempo
    return found


def _has(reading: Reading, name: LayerName, span: Span) -> bool:
    voices = {reading.voices[index] for index in span.indexes}
    match name:
        case "upper":
            return "upper" in voices
        case "lower":
            return bool(voices & {"lower", "middle"})
        case "interleaved":
            return len(voices - {"single"}) > 1
        case "bridged":
            return any(bridge.before in span and bridge.tone in span for bridge in reading.bridges)
        case _:
            return True
