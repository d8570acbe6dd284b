"""What each strand sounds like: waveforms by their partials, envelopes, place in the stereo picture, MIDI program.

A timbre is one or more bands of partials, each dying away at its own rate. Formants of the sung vowels follow the usual
tables of singing synthesis (values from memory); the other partial laws are by ear.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, pi

import numpy as np
from numpy.typing import NDArray

from earloop.performing.events import Strand

Floats = NDArray[np.float32]
Partials = Callable[[int, float], float]
"""(number of the partial from 1, its frequency in Hz) → amplitude."""

HIGHEST = 16000.0
"""Hz. No partial lies above it, so that a little vibrato or bending never folds back."""

TABLE = 2048


@dataclass(frozen=True, slots=True)
class Timbre:
    """`bands` pair partials with a decay rate at middle C (1/s; 0 sustains). Attack and release in seconds.

    `vibrato` is its depth in cents, `breath` how much the tone swells in after the attack (0..1).
    """

    name: str
    bands: tuple[tuple[Partials, float], ...]
    attack: float
    release: float
    gain: float
    vibrato: float = 0.0


def _vowel(formants: tuple[tuple[float, float, float], ...], tilt: float) -> Partials:
    """A voice: a source falling by `tilt`, through resonances of (Hz, bandwidth in Hz, dB)."""

    def amplitude(number: int, hertz: float) -> float:
        through = sum(10 ** (level / 20) / (1 + ((hertz - at) / (width * 1.4)) ** 2) for at, width, level in formants)
        return float(number**-tilt * (through + 0.02))

    return amplitude


def _reed(number: int, hertz: float) -> float:
    """A cylinder with a reed: odd partials lead, and all fall away softly above 2 kHz."""
    return float((1.0 if number % 2 else 0.12) * number**-1.1 / (1 + (hertz / 2000.0) ** 2))


def _string(low: bool) -> Partials:
    """A string plucked a seventh of its length from the end, its low or its high partials."""

    def amplitude(number: int, hertz: float) -> float:
        shape = abs(np.sin(pi * number / 7.0)) / number**1.2
        share = exp(-((number - 1) / 2.5))
        return float(shape * (share if low else 1 - share))

    return amplitude


def _flute(number: int, hertz: float) -> float:
    return float((1.0, 0.22, 0.08, 0.03)[number - 1]) if number <= 4 else 0.0


def _organ(number: int, hertz: float) -> float:
    return float(number**-1.3) if number <= 8 else 0.0


def _knock(number: int, hertz: float) -> float:
    return float((1.0, 0.0, 0.4, 0.0, 0.25)[number - 1]) if number <= 5 else 0.0


AH = ((800.0, 80.0, 0.0), (1150.0, 90.0, -6.0), (2900.0, 120.0, -24.0), (3900.0, 130.0, -26.0))
OO = ((325.0, 60.0, 0.0), (700.0, 70.0, -16.0), (2700.0, 170.0, -40.0))

VOWEL = Timbre("sung vowel", ((_vowel(AH, 0.7), 0.0),), 0.045, 0.09, 1.0, vibrato=7.0)
REED = Timbre("soft reed", ((_reed, 0.0),), 0.03, 0.07, 0.9)
STRING = Timbre("plucked string", ((_string(True), 1.2), (_string(False), 5.0)), 0.004, 0.12, 1.5)
FLUTE = Timbre("plain flute", ((_flute, 0.0),), 0.04, 0.08, 0.7)
HUM = Timbre("hum", ((_vowel(OO, 1.0), 0.0),), 0.08, 0.15, 0.8)
DRONE = Timbre("drone", ((_organ, 0.0),), 0.25, 0.35, 0.45)
KNOCK = Timbre("knock", ((_knock, 45.0),), 0.002, 0.03, 0.9)


@dataclass(frozen=True, slots=True)
class Place:
    """Where a strand sounds: timbre, side (-1 left to 1 right), MIDI channel (0-based) and program (0-based, GM 1)."""

    timbre: Timbre
    side: float
    channel: int
    program: int


PLACES: dict[Strand, Place] = {
    "upper": Place(VOWEL, -0.4, 0, 53),
    "lower": Place(REED, 0.4, 1, 71),
    "middle": Place(STRING, 0.0, 2, 24),
    "single": Place(VOWEL, 0.0, 3, 53),
    "held": Place(HUM, 0.15, 4, 89),
    "bridge": Place(FLUTE, -0.15, 5, 73),
    "drone": Place(DRONE, 0.0, 6, 20),
    "count": Place(KNOCK, 0.0, 9, 0),
}


def table_of(partials: Partials, hertz: float, rate: int) -> tuple[Floats, float]:
    """One period of the waveform at `hertz` (with one sample more, to interpolate), and its power."""
    top = min(HIGHEST, 0.45 * rate)
    count = max(1, min(64, int(top / hertz)))
    numbers = np.arange(1, count + 1)
    amplitudes = np.array([partials(int(number), number * hertz) for number in numbers])
    spectrum = np.zeros(TABLE // 2 + 1, dtype=complex)
    # Phases spread quadratically (Schroeder 1970): the same spectrum with a lower crest.
    spectrum[1 : count + 1] = amplitudes * np.exp(-1j * pi * (numbers * (numbers - 1) / count + 0.5))
    wave = np.fft.irfft(spectrum, TABLE) * TABLE / 2
    return np.append(wave, wave[0]).astype(np.float32), float(np.sum(amplitudes**2))
