"""48 kHz → 16 kHz, block by block without seams: a windowed-sinc low pass, then every third sample.

The method is the textbook's (Oppenheim & Schafer, *Discrete-Time Signal Processing*: window design of FIR filters).
"""

from __future__ import annotations

import numpy as np

from earloop.hearing.pitch_track import RATE, Floats

FACTOR = 3
DEVICE_RATE = RATE * FACTOR
TAPS = 63
DELAY = (TAPS - 1) / 2 / DEVICE_RATE
"""Seconds by which the filtered sound lags."""


def _kernel() -> Floats:
    place = np.arange(TAPS) - (TAPS - 1) / 2
    kernel: Floats = np.sinc(place * 0.9 / FACTOR) * np.hamming(TAPS)
    kernel /= kernel.sum()
    return kernel


KERNEL = _kernel()


class Decimation:
    """Feed blocks of any size; each call gives what is ready."""

    def __init__(self) -> None:
        self._tail = np.zeros(TAPS - 1)
        self._count = 0

    def feed(self, samples: Floats) -> Floats:
        whole = np.concatenate([self._tail, samples])
        result: Floats = np.convolve(whole, KERNEL, "valid")[-self._count % FACTOR :: FACTOR]
        self._count += len(samples)
        self._tail = whole[len(whole) - TAPS + 1 :]
        return result


def decimated(samples: Floats) -> Floats:
    """A whole sound at once."""
    return Decimation().feed(np.asarray(samples, dtype=np.float64))
