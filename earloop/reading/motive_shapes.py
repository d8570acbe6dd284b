"""The shape of any span of a line as one number, so that equal shapes are found without comparing tones.

A span's shape is its steps from tone to tone and the ratios of the times between onsets. It is therefore the same
after transposition and at another speed. Polynomial hashes over 64 bits (Karp & Rabin 1987) give the shape of every
span from running sums; the shape turned upside down or read backwards comes from sums of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Hashes = NDArray[np.uint64]
Place = tuple[int, int]
"""First and last full tone of a span, counted among the full tones."""

_BASE = 0x9E3779B97F4A7C15
_WORD = 1 << 64
_BACK = pow(_BASE, -1, _WORD)
_RHYTHM, _LENGTHS = np.uint64(0xD6E8FEB86659FD93), np.uint64(0xA0761D6478BD642F)
_GRAIN = 12
"""Ratios of time are told apart by a twelfth of an octave of tempo: about 6 %."""


@dataclass(frozen=True)
class Shapes:
    """Full tones (grace notes left out) and the shapes of spans `first`..`last` of them, counted among themselves."""

    tones: Ints
    height: Ints
    midi: Ints
    onset: Floats
    ioi: Floats
    length: Floats
    graces_before: Ints

    def same_way(self, first: Ints, last: Ints) -> Hashes:
        """The shape as it stands."""
        return self._steps.of(first, last) + _RHYTHM * self._ratios.of(first, last - 1)

    def turned_over(self, first: Ints, last: Ints) -> Hashes:
        """The shape that its inversion has."""
        return self._falls.of(first, last) + _RHYTHM * self._ratios.of(first, last - 1)

    def with_last_length(self, first: Ints, last: Ints) -> Hashes:
        """The shape by the tones' own lengths, the last one's too."""
        return self._steps.of(first, last) + _LENGTHS * self._lengths.of(first, last)

    def backwards(self, first: Ints, last: Ints) -> Hashes:
        """What `with_last_length` says of its retrograde."""
        return self._falls.back(first, last) + _LENGTHS * self._shorter.back(first, last)

    def backwards_in_rhythm(self, first: Ints, last: Ints) -> Hashes:
        """What `same_way` says of its pitches read backwards in the rhythm they had forwards."""
        return self._falls.back(first, last) + _RHYTHM * self._ratios.of(first, last - 1)

    @cached_property
    def heights(self) -> list[int]:
        values: list[int] = self.height.tolist()
        return values

    @cached_property
    def keys(self) -> list[int]:
        """MIDI key numbers."""
        values: list[int] = self.midi.tolist()
        return values

    @cached_property
    def times(self) -> list[float]:
        """Times between onsets, as a plain list."""
        values: list[float] = self.ioi.tolist()
        return values

    @cached_property
    def lengths(self) -> list[float]:
        values: list[float] = self.length.tolist()
        return values

    @cached_property
    def onsets(self) -> list[float]:
        values: list[float] = self.onset.tolist()
        return values

    @cached_property
    def _steps(self) -> _Sums:
        return _Sums.over(np.diff(self.height))

    @cached_property
    def _falls(self) -> _Sums:
        return _Sums.over(-np.diff(self.height))

    @cached_property
    def _ratios(self) -> _Sums:
        return _Sums.over(_ratio(self.ioi[:-1]))

    @cached_property
    def _lengths(self) -> _Sums:
        return _Sums.over(_ratio(self.length))

    @cached_property
    def _shorter(self) -> _Sums:
        return _Sums.over(-_ratio(self.length))


@dataclass(frozen=True)
class _Sums:
    forward: Hashes
    backward: Hashes
    power: Hashes
    inverse: Hashes

    @classmethod
    def over(cls, values: Ints) -> _Sums:
        size = len(values) + 1
        power, inverse = _powers(_BASE, size), _powers(_BACK, size)
        tokens = _mixed(values)
        zero = np.zeros(1, dtype=np.uint64)
        forward = np.concatenate((zero, np.cumsum(tokens * power[:-1], dtype=np.uint64)))
        backward = np.concatenate((zero, np.cumsum(tokens * inverse[:-1], dtype=np.uint64)))
        return cls(forward, backward, power, inverse)

    def of(self, first: Ints, last: Ints) -> Hashes:
        return (self.forward[last] - self.forward[first]) * self.inverse[first]

    def back(self, first: Ints, last: Ints) -> Hashes:
        return (self.backward[last] - self.backward[first]) * self.power[last - 1]


def shapes_of(columns: Columns) -> Shapes:
    """The full tones of a line and their shapes. All tones count where there are only grace notes."""
    tones = np.flatnonzero(~columns.grace)
    if len(tones) == 0:
        tones = np.arange(columns.size)
    onset = columns.onset[tones]
    length = np.maximum(columns.length[tones], 1e-3)
    ioi = np.maximum(np.append(np.diff(onset), length[-1]), 1e-3)
    graces = np.diff(tones, prepend=-1) - 1
    return Shapes(tones, columns.height[tones], columns.midi[tones], onset, ioi, length, graces)


def _ratio(times: Floats) -> Ints:
    """Each time against the one before, as a whole number of grains."""
    if len(times) < 2:
        return np.zeros(0, dtype=np.int64)
    return np.round(_GRAIN * np.diff(np.log2(times))).astype(np.int64)


def _powers(base: int, size: int) -> Hashes:
    factors = np.full(size, base, dtype=np.uint64)
    factors[0] = 1
    return np.cumprod(factors, dtype=np.uint64)


def _mixed(values: Ints) -> Hashes:
    """Each whole number as 64 well-stirred bits (the finaliser of SplitMix64: Steele, Lea & Flood 2014)."""
    z = values.astype(np.uint64) + np.uint64(_BASE)
    z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return z ^ (z >> np.uint64(31))
