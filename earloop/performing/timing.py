"""Performed time: graces get a real length, fermatas and breaths stretch in proportion, all else stays as written.

A fermata holds for about 1.8 times its value and a breath adds a third of a quarter (common practice, no
source); both are proportions, so that a free line keeps its shape at any tempo.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from itertools import accumulate

from earloop.layers import Layer, LayerTone
from earloop.reading.record import Reading

FERMATA = 0.8
BREATHS = {"breath": 0.33, "comma": 0.33, "caesura": 0.75, "dotted-bar": 0.25}
GRACE = 0.125
"""Quarters of one grace note; graces take at most half of the tone they lean on."""

NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Timed:
    """A layer in performed quarters, and pairs (performed quarter, quarter of the line), both rising."""

    tones: tuple[LayerTone, ...]
    length: float
    position_map: tuple[tuple[float, float], ...]


def timed(reading: Reading, layer: Layer, breathing: bool = True) -> Timed:
    """The layer's tones at their performed onsets and lengths."""
    stretches = _stretches(reading, layer) if breathing else []
    warp = _Warp(stretches)
    placed = _graces(layer.tones)
    moved = tuple(_moved(tone, warp) for tone in placed) if stretches else tuple(placed)
    # Graces after the last full tone sound beyond the page's end.
    length = max(warp.start(layer.length), *(tone.end for tone in moved if tone.role == "page"), 0.0)
    return Timed(moved, length, _position_map(reading, layer, moved, length))


def _moved(tone: LayerTone, warp: _Warp) -> LayerTone:
    onset = warp.start(tone.onset)
    length = max(0.0, warp.end(tone.end) - onset)
    return LayerTone(tone.source, onset, length, tone.pitch, tone.voice, tone.role)


def _position_map(
    reading: Reading, layer: Layer, moved: tuple[LayerTone, ...], length: float
) -> tuple[tuple[float, float], ...]:
    pairs: list[tuple[float, float]] = []
    for tone in moved:
        pair = (tone.onset, reading.line[tone.source].onset)
        if tone.role == "page" and (not pairs or (pair[0] > pairs[-1][0] and pair[1] > pairs[-1][1])):
            pairs.append(pair)
    pairs = pairs or [(0.0, reading.line[layer.span.first].onset)]
    last = reading.line[layer.span.last].end
    if length > pairs[-1][0] and last > pairs[-1][1]:
        pairs.append((length, last))
    return tuple(pairs)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """At layer quarter `at` the sounding tone grows by `hold`, then a silence of `pause` follows."""

    at: float
    hold: float
    pause: float


class _Warp:
    """Layer quarters → performed quarters, for the starts and for the ends of tones."""

    def __init__(self, stretches: list[_Stretch]) -> None:
        self._at = [s.at for s in stretches]
        self._hold = [s.hold for s in stretches]
        self._total = [0.0, *accumulate(s.hold + s.pause for s in stretches)]

    def start(self, quarter: float) -> float:
        """A tone that starts here starts after every stretch up to and at this point."""
        return quarter + self._total[bisect_right(self._at, quarter + NEAR)]

    def end(self, quarter: float) -> float:
        """A tone that ends here takes this point's hold with it but leaves its pause silent."""
        before, upto = bisect_left(self._at, quarter - NEAR), bisect_right(self._at, quarter + NEAR)
        return quarter + self._total[before] + sum(self._hold[before:upto])


def _graces(tones: tuple[LayerTone, ...]) -> list[LayerTone]:
    """Grace notes take their time from the tone they stand before; a last one is given time of its own."""
    out = list(tones)
    i = 0
    while i < len(out):
        run = i
        while run < len(out) and out[run].length <= 0 and out[run].role == "page":
            run += 1
        if run > i:
            _place_run(out, i, run)
        i = max(run, i + 1)
    return out


def _place_run(out: list[LayerTone], first: int, main: int) -> None:
    """Give the graces `first`..`main`-1 their time; mutates `out`."""
    count = main - first
    has_main = main < len(out) and out[main].onset - out[first].onset < 1e-6
    room = out[main].length / 2 if has_main else GRACE * count
    each = min(GRACE, room / count)
    at = out[first].onset
    for k in range(first, main):
        out[k] = replace(out[k], onset=at, length=each)
        at += each
    if has_main:
        taken = each * count
        out[main] = replace(out[main], onset=out[main].onset + taken, length=out[main].length - taken)


def _stretches(reading: Reading, layer: Layer) -> list[_Stretch]:
    found = []
    for tone in layer.tones:
        marks = reading.line[tone.source].marks
        hold = FERMATA * reading.line[tone.source].length if marks.fermata else 0.0
        pause = BREATHS.get(marks.break_after, 0.0)
        if tone.role == "page" and (hold or pause):
            found.append(_Stretch(tone.end, hold, pause))
    return sorted(found, key=lambda s: s.at)
