"""Where each tone of the layer stands on the singing screen, and which column a moment falls on."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

NARROWEST = 6
"""Columns a tone takes at the least: `-123!` and a gap."""


@dataclass(frozen=True, slots=True)
class Places:
    """Tones by their order among those asked for. `bands` are (first, last) that fit the width one below the other."""

    columns: tuple[int, ...]
    widths: tuple[int, ...]
    bands: tuple[tuple[int, int], ...]

    def band_of(self, tone: int) -> int:
        return next(k for k, (first, last) in enumerate(self.bands) if first <= tone <= last)

    def column_at(self, anchors: Sequence[float], seconds: float) -> tuple[int, int]:
        """(tone, column in its band) at a moment; `anchors` are the tones' beginnings and the end, rising."""
        tone = max(0, bisect_right(anchors, seconds, 0, len(self.columns)) - 1)
        begin, end = anchors[tone], anchors[tone + 1]
        share = min(1.0, max(0.0, (seconds - begin) / (end - begin))) if end > begin else 0.0
        width = self.widths[tone]
        return tone, self.columns[tone] + min(width - 1, int(share * width))


def places_of(lengths: Sequence[float], room: int) -> Places:
    """Widths in proportion to the time until the next tone, none too narrow for its figures."""
    fits = max(1, room // NARROWEST)
    columns: list[int] = []
    widths: list[int] = []
    bands: list[tuple[int, int]] = []
    count = -(-len(lengths) // fits) if lengths else 0
    size = -(-len(lengths) // count) if count else 0
    for first in range(0, len(lengths), max(1, size)):
        band = _widths(lengths[first : first + size], room)
        columns += [sum(band[:k]) for k in range(len(band))]
        widths += band
        bands.append((first, first + len(band) - 1))
    return Places(tuple(columns), tuple(widths), tuple(bands))


def _widths(lengths: Sequence[float], room: int) -> list[int]:
    """The spare columns are given out by length."""
    spare = room - NARROWEST * len(lengths)
    whole = sum(lengths) or 1.0
    return [NARROWEST + int(spare * length / whole) for length in lengths]
