"""How far each key lies from equal temperament at A4 = 440 Hz, in cents.

Equal temperament: ISO 16 for A4 = 440 Hz, MIDI 1.0 for key 69 = A4. Just: 5-limit ratios above the drone's tonic.
The diatonic ones are Ptolemy's intense diatonic; the chromatic ones fill it by thirds and fifths (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log2

LOWEST_A4, HIGHEST_A4 = 415.0, 466.0
JUST = (
    (1, 1),
    (16, 15),
    (9, 8),
    (6, 5),
    (5, 4),
    (4, 3),
    (45, 32),
    (3, 2),
    (8, 5),
    (5, 3),
    (9, 5),
    (15, 8),
)
"""Ratios by semitones above the tonic."""

JUST_CENTS = tuple(1200 * log2(over / under) - 100 * step for step, (over, under) in enumerate(JUST))
"""What each just interval adds to its equal one, in cents."""


@dataclass(frozen=True, slots=True)
class Tuning:
    """`a4` in Hz (held within 415 to 466); `just_on` is the tonic's pitch class for just intervals, None for equal."""

    a4: float = 440.0
    just_on: int | None = None

    def cents(self, midi: int) -> float:
        """Deviation of a MIDI key from equal temperament at 440 Hz."""
        a4 = min(HIGHEST_A4, max(LOWEST_A4, self.a4))
        just = 0.0 if self.just_on is None else JUST_CENTS[(midi - self.just_on) % 12]
        return 1200 * log2(a4 / 440.0) + just


EQUAL = Tuning()


def frequency(midi: int, cents: float = 0.0) -> float:
    """f = 440·2^((n-69)/12) Hz."""
    return float(440.0 * 2 ** ((midi - 69 + cents / 100) / 12))
