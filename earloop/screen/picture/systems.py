"""Where each tone stands: columns in proportion to time, broken into systems that fit the width.

A tone is never narrower than its name, so the proportion gives way where tones are very short, and never wider
than WIDEST, so that one long tone doesn't push the rest off the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from earloop.line import Line
from earloop.reading import Reading

NARROWEST, WIDEST = 5, 15
"""Columns a tone may take: a name such as `F♯4` with a gap, and a breve that still leaves room for others."""
TIGHT = 4
"""What a tone may take at the least where this lets a whole phrase stand on one system."""


@dataclass(frozen=True, slots=True)
class System:
    """Tones `first`..`last` on one band. `columns[k]` is where tone first + k begins, `widths[k]` what it takes."""

    first: int
    last: int
    columns: tuple[int, ...]
    widths: tuple[int, ...]

    def column(self, index: int) -> int:
        return self.columns[index - self.first]

    def width(self, index: int) -> int:
        return self.widths[index - self.first]

    def holds(self, index: int) -> bool:
        return self.first <= index <= self.last

    def tone_at(self, column: int) -> int | None:
        """The tone that stands at the column, None left of the first and right of the last."""
        for k, (start, width) in enumerate(zip(self.columns, self.widths, strict=True)):
            if start <= column < start + width:
                return self.first + k
        return None


@dataclass(frozen=True, slots=True)
class Widths:
    """Columns each tone takes: usually, and where a phrase would else not fit on one system."""

    usual: tuple[int, ...]
    tight: tuple[int, ...]


def widths_of(line: Line, lengths: Sequence[int]) -> Widths:
    """`lengths` are those of the widest texts that stand at the tones."""
    return Widths(_widths(line, lengths, NARROWEST), _widths(line, lengths, TIGHT))


def _widths(line: Line, lengths: Sequence[int], narrowest: int) -> tuple[int, ...]:
    ioi = line.columns.ioi
    sounding = ioi[ioi > 0].tolist() or [1.0]
    times = (ioi * (narrowest / max(1e-6, median(sounding)))).round().clip(narrowest, WIDEST).tolist()
    return tuple(max(int(time), length + narrowest - 3) for time, length in zip(times, lengths, strict=True))


def lay_out(reading: Reading, wide: Widths, room: int) -> tuple[System, ...]:
    """Systems of at most `room` columns. A phrase starts a new system unless it fits on the one before."""
    widths, tight = list(wide.usual), wide.tight
    spans: list[tuple[int, int]] = []
    ends = {span.last for span in reading.gestures}
    for phrase in reading.phrases:
        stretch = slice(phrase.first, phrase.last + 1)
        if sum(tight[stretch]) <= room < sum(widths[stretch]):
            widths[stretch] = tight[stretch]
        pieces = _pieces(ends, widths, phrase.first, phrase.last, room)
        if spans and len(pieces) == 1 and sum(widths[spans[-1][0] : phrase.last + 1]) <= room:
            spans[-1] = (spans[-1][0], phrase.last)
        else:
            spans += pieces
    return tuple(_system(first, last, widths) for first, last in spans)


def _pieces(ends: set[int], widths: list[int], first: int, last: int, room: int) -> list[tuple[int, int]]:
    """A phrase cut to fit: at the end of a gesture where there is one in the second half of the band."""
    out: list[tuple[int, int]] = []
    start, used, best = first, 0, -1
    index = first
    while index <= last:
        if used + widths[index] > room and index > start:
            stop = best if best >= start else index - 1
            out.append((start, stop))
            start, used, best, index = stop + 1, 0, -1, stop + 1
            continue
        used += widths[index]
        if index in ends and used * 2 >= room:
            best = index
        index += 1
    out.append((start, last))
    return out


def _system(first: int, last: int, widths: list[int]) -> System:
    columns, at = [], 0
    for index in range(first, last + 1):
        columns.append(at)
        at += widths[index]
    return System(first, last, tuple(columns), tuple(widths[first : last + 1]))
