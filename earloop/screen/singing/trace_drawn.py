"""The picture of one answer: the tones that are meant, and the pitch that is sung, octaves folded.

Where the pitch is within the tolerance it lies on the tone's own row, drawn thick; elsewhere a dot at its height. It is
drawn over the degree that stands there, which can be read below the trace too: at a slow tempo a tone sung in tune
would else be seen only half a second after it was heard.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from earloop.screen.picture.canvas import Canvas
from earloop.screen.signs import Signs
from earloop.screen.singing.places import Places

GUTTER = 8
MARGIN = 1.6
"""Semitones shown above the highest tone and below the lowest."""
PARTS = 3
"""Heights a dot can have within a row."""


@dataclass(frozen=True, slots=True)
class Shown:
    """`keys` are MIDI keys and `labels` degrees of the tones asked for; `numbers` count the layer's tones from 1.

    `frames` are (second, fractional key) of the answer, `anchors` the seconds at which the tones begin, and the end.
    `playhead` is a second of the same count, None where nothing moves.
    """

    places: Places
    keys: tuple[float, ...]
    labels: tuple[str, ...]
    numbers: tuple[int, ...]
    frames: Sequence[tuple[float, float]]
    anchors: Sequence[float]
    tolerance: float
    playhead: float | None = None
    reference: float = 0.0


def draw_trace(shown: Shown, band: int, rows: int, width: int, signs: Signs) -> Canvas:
    """A ruler with the tones' numbers, then the rows of the trace."""
    canvas = Canvas(rows, width)
    first, last = shown.places.bands[band]
    here = shown.keys[first : last + 1]
    low, high = min(here) - MARGIN, max(here) + MARGIN
    heights = Heights(low, high, rows - 1)
    bands = len(shown.places.bands)
    canvas.put(0, 0, "tone" if bands == 1 else f"{band + 1} of {bands}", "quiet")
    for tone in range(first, last + 1):
        _target(canvas, shown, tone, heights, signs)
    begin = shown.anchors[first] if first else float("-inf")
    end = shown.anchors[last + 1] if last + 1 < len(shown.keys) else float("inf")
    for second, key in shown.frames:
        if begin <= second < end:
            tone, column = shown.places.column_at(shown.anchors, second)
            _dot(canvas, shown, tone, column, key, heights, signs)
    if shown.playhead is not None:
        tone, column = shown.places.column_at(shown.anchors, shown.playhead)
        if first <= tone <= last:
            canvas.put(0, GUTTER + column, signs.playing, "playing")
    return canvas


@dataclass(frozen=True, slots=True)
class Heights:
    """From a key to a row below the ruler and a part of the row, 0 on top."""

    low: float
    high: float
    rows: int

    def of(self, key: float) -> tuple[int, int]:
        parts = self.rows * PARTS
        at = int((self.high - key) / (self.high - self.low) * parts)
        at = max(0, min(parts - 1, at))
        return 1 + at // PARTS, at % PARTS


def _target(canvas: Canvas, shown: Shown, tone: int, heights: Heights, signs: Signs) -> None:
    row, _ = heights.of(shown.keys[tone])
    at = GUTTER + shown.places.columns[tone]
    canvas.put(0, at, str(shown.numbers[tone]), "quiet")
    canvas.put(row, at, shown.labels[tone], "skeleton")
    canvas.fill(row, at + len(shown.labels[tone]), at + shown.places.widths[tone] - 1, signs.sustain, "quiet")


def _dot(canvas: Canvas, shown: Shown, tone: int, column: int, key: float, heights: Heights, signs: Signs) -> None:
    key = near(key - shown.reference, shown.keys[tone])
    if abs(key - shown.keys[tone]) * 100 <= shown.tolerance:
        row, sign, style = heights.of(shown.keys[tone])[0], signs.in_tune, "upper"
    else:
        row, part = heights.of(key)
        sign, style = (signs.off_high, signs.off_middle, signs.off_low)[part], "lean"
    canvas.put(row, GUTTER + column, sign, style)


def near(key: float, target: float) -> float:
    """The key in the octave that brings it nearest to the target."""
    return target + (key - target + 6) % 12 - 6
