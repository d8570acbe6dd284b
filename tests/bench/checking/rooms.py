"""The room a take is made in: reverberation and noise."""

from __future__ import annotations

import numpy as np

from tests.bench.checking.singing import Floats


def reverberant(sound: Floats, rate: int, rng: np.random.Generator) -> Floats:
    """A small room: decaying noise, 60 dB down after 0.2 to 0.5 s, 8 to 16 dB below the direct sound."""
    fall = rng.uniform(0.2, 0.5)
    time = np.arange(int(fall * rate)) / rate
    tail = rng.normal(size=len(time)) * 10 ** (-3 * time / fall) * (time > 0.008)
    tail *= 10 ** (-rng.uniform(8, 16) / 20) / np.sqrt(np.sum(tail**2))
    size = len(sound) + len(tail)
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[: len(sound)]
    return sound + wet


def noisy(sound: Floats, decibels: float, rng: np.random.Generator) -> Floats:
    """Noise this far below the mean power of what sounds: white, or pink as in rooms (power falling with 1/f)."""
    noise = rng.normal(size=len(sound))
    if rng.random() < 0.5:
        spectrum = np.fft.rfft(noise)
        noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(np.arange(len(spectrum)), 20)), len(sound))
    loud = np.abs(sound) > 0.02 * np.max(np.abs(sound))
    power = float(np.mean(sound[loud] ** 2))
    return sound + noise * np.sqrt(power / np.mean(noise**2) / 10 ** (decibels / 10))
