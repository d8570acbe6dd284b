"""Sets of pitch classes as twelve-bit numbers (bit 0 is C), and which of them are chords or parts of one.

Triads and seventh chords as every harmony handbook lists them. A lookup in a table of 4,096 sets costs the same for any
number of tones.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]

_TRIADS = ((0, 4, 7), (0, 3, 7), (0, 3, 6), (0, 4, 8))
_LEADING = ((0, 4, 7, 10), (0, 3, 6, 10), (0, 3, 6, 9))
"""Seventh chords with a tritone: what a dominant makes, with or without its root."""
_OTHER = ((0, 3, 7, 10), (0, 4, 7, 11))
_BITS = 1 << np.arange(12, dtype=np.int64)
_SETS = np.arange(4096)


def turned(shapes: tuple[tuple[int, ...], ...]) -> Ints:
    """The shapes on all twelve roots."""
    sets = [sum(1 << (root + above) % 12 for above in shape) for shape in shapes for root in range(12)]
    return np.array(sets, dtype=np.int64)


def _within(chords: Ints) -> Flags:
    return np.asarray(((_SETS[:, None] & ~chords) == 0).any(axis=1))


def _frozen(table: Flags) -> Flags:
    table.flags.writeable = False
    return table


SIZE = np.array([number.bit_count() for number in range(4096)], dtype=np.int64)
"""How many pitch classes each set holds."""
WHOLE_TRIAD = _frozen(np.isin(_SETS, turned(_TRIADS)))
IN_TRIAD = _frozen(_within(turned(_TRIADS)))
"""Sets within one triad, such as a third or a lone tone."""
WHOLE_SEVENTH = _frozen(np.isin(_SETS, turned(_LEADING)))
IN_SEVENTH = _frozen(_within(turned(_LEADING)) & ~IN_TRIAD)
"""Sets within a dominant's or leading tone's seventh chord but within no triad."""
IN_CHORD = _frozen(_within(turned(_TRIADS + _LEADING + _OTHER)))


def set_of(rows: Flags) -> Ints:
    """Each row of twelve flags as a set."""
    return np.asarray(rows @ _BITS)


def alone(midi: Ints) -> Ints:
    """Each tone's own set."""
    return np.asarray(_BITS[midi % 12])
