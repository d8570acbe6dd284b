"""Where bar lines fall on paper: by the meter, or, without one, where the page or the reading breathes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from earloop.layers.layer import Layer
from earloop.line import Line, Meter
from earloop.reading.record import Reading

_NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class PaperBar:
    """A bar from `start` to `end` in quarters of the layer. `meter` is set where one begins; `style` names its end."""

    start: float
    end: float
    number: int
    meter: Meter | None = None
    style: str = "regular"


def bars_of(reading: Reading, layer: Layer) -> list[PaperBar]:
    """The layer's bars. Closed-up time has no meter any more, so it is barred as unmetered music is."""
    line = reading.line
    if line.meters and layer.true_time:
        return _metered(line, layer)
    return _unmetered(reading, layer)


def _metered(line: Line, layer: Layer) -> list[PaperBar]:
    start = line[layer.span.first].onset
    bars: list[PaperBar] = []
    for index, (at, meter) in enumerate(line.meters):
        until = line.meters[index + 1][0] if index + 1 < len(line.meters) else start + layer.length
        begin, until = max(at, start), min(until, start + layer.length)
        now = begin
        while now < until - _NEAR:
            since = (now - meter.first_downbeat) / meter.measure_length
            downbeat = meter.first_downbeat + meter.measure_length * int(since + 1 + _NEAR if since > -_NEAR else 0)
            end = min(max(downbeat, now + _NEAR), until)
            number = _printed(line, now, bars[-1].number + 1 if bars else 1)
            bars.append(PaperBar(now - start, end - start, number, meter if now == begin else None))
            now = end
    if not bars or bars[0].start > _NEAR:
        # The line begins before its first meter does.
        bars.insert(0, PaperBar(0.0, bars[0].start if bars else layer.length, 0))
    return _closed(bars)


def _printed(line: Line, now: float, otherwise: int) -> int:
    """The printed number of the bar that begins here, if a tone stands at its start."""
    for tone in line.tones:
        if tone.onset >= now - _NEAR:
            return int(tone.measure) if tone.onset < now + _NEAR and tone.measure.isdecimal() else otherwise
    return otherwise


def _unmetered(reading: Reading, layer: Layer) -> list[PaperBar]:
    """A bar for each printed one; where the page has none, a dotted line after each phrase."""
    line = reading.line
    page = [tone for tone in layer.tones if tone.role == "page"] or list(layer.tones)
    printed = len({line[tone.source].measure for tone in page}) > 1
    cuts: list[tuple[float, str]] = []
    for tone, after in pairwise(page):
        if printed:
            new = line[tone.source].measure != line[after.source].measure
            last = max(i for i in range(tone.source, after.source) if line[i].measure == line[tone.source].measure)
            sign = line[last].marks.break_after
            style = {"dotted-bar": "dotted", "double-bar": "double"}.get(sign, "regular")
        else:
            new = reading.phrase_of(tone.source) != reading.phrase_of(after.source)
            style = "dotted"
        if new and after.onset > (cuts[-1][0] if cuts else 0.0) + _NEAR:
            cuts.append((after.onset, style))
    edges = [0.0, *(at for at, _ in cuts), layer.length]
    styles = [*(style for _, style in cuts), "regular"]
    bars = [PaperBar(edges[i], edges[i + 1], i + 1, None, styles[i]) for i in range(len(styles))]
    return _closed(bars)


def _closed(bars: list[PaperBar]) -> list[PaperBar]:
    last = bars[-1]
    return [*bars[:-1], PaperBar(last.start, last.end, last.number, last.meter, "final")]
