"""MIDI timing clock: 24 ticks a quarter (MIDI 1.0), laid on the same musical time as the tones."""

from __future__ import annotations

from math import ceil

A_QUARTER = 24


class Ticks:
    """The next tick at or after a place in unrolled quarters, counted and never added up."""

    def __init__(self, begin: float) -> None:
        self._next = ceil(begin * A_QUARTER - 1e-9)

    def peek(self) -> float:
        return self._next / A_QUARTER

    def take(self) -> None:
        self._next += 1
