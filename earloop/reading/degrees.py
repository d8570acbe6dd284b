"""Scale degrees of spelled pitches above a tonic."""

from __future__ import annotations

import numpy as np

from earloop.line import Columns
from earloop.reading.record import Degree, Key, LocalKey, Mode

_SCALE: dict[Mode, tuple[int, ...]] = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "minor": (0, 2, 3, 5, 7, 8, 10),
}
_FIFTHS = {"major": (0, 2, 4, -1, 1, 3, 5), "minor": (0, 2, -3, -1, 1, -4, -2)}


def degrees_in(columns: Columns, key: Key) -> tuple[Degree, ...]:
    """Each tone's degree in one key. Degrees count letters; `alter` is against major or natural minor."""
    table: dict[int, Degree] = {}
    return tuple(table[f] if f in table else table.setdefault(f, degree_of(f, key)) for f in columns.fifths.tolist())


def degree_of(fifths: int, key: Key) -> Degree:
    """Degree of a spelled pitch (place on the line of fifths) in a key."""
    above = fifths - key.fifths
    number = above * 4 % 7 + 1
    alter = (above - _FIFTHS[key.mode][number - 1]) // 7
    return Degree(number, alter)


def local_degrees(columns: Columns, local: tuple[LocalKey, ...]) -> tuple[Degree, ...]:
    """Each tone's degree in the key of its own gesture."""
    out: list[Degree] = []
    for part in local:
        fifths = columns.fifths[part.span.first : part.span.last + 1]
        out.extend(degree_of(f, part.key) for f in np.asarray(fifths).tolist())
    return tuple(out)
