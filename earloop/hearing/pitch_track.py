"""Sound → pitch track by YIN (de Cheveigné & Kawahara 2002, J. Acoust. Soc. Am. 111, 1917-1930).

The difference function of their equation 6 is taken for all frames at once through the FFT; then come the cumulative
mean (equation 8), the absolute threshold and parabolic interpolation. The threshold is 0.04: 0.15 gave octave-up errors
on vowels whose second harmonic sits on a formant, 0.08 a fifth too high where it was the third. In noise no dip reaches
the threshold; then the first dip that comes near the deepest one is taken, and the frame counts as pitched while that
dip is deep enough; weaker frames count where the pitch goes on in them from such a one (an idea of the probabilistic
YIN of Mauch & Dixon 2014, from memory). Only what carries the pitch is looked at (the paper lowpasses by another
filter, from memory): most of a room's noise lies above it, most of its rumble below. On the tuning half, sung frames
without a pitch in 10 dB of noise fell from 7 to 2 % by the lowpass; a choir's wrong verdicts there from .8 to .6 % by
leaving out the rumble.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

RATE = 16000
THRESHOLD = 0.04
NEAR, NEAR_SHARE = 0.02, 0.3
"""How far above the deepest dip an earlier dip may lie and still be the period: a little, and a share of the dip."""
PITCHED = 0.55
"""Aperiodicity up to which a frame is pitched: breath and consonants lie far above, 10 dB of noise below."""
WEAK, JOINED = 0.7, 0.5
"""Aperiodicity up to which a frame may go on from a pitched one, and semitones by which it may differ."""
PASSED, TAPS = 1800.0, 97
"""The lowpass: hertz, and the length of its windowed sinc in samples."""
WINDOW = 0.070
HOP = 0.010
CLOSE = 0.060
"""Seconds of which a frame's loudness is told."""
LOWEST, HIGHEST = 60.0, 1800.0
GATE = 40.0
"""Decibels below the loud part of the take (95th percentile) at which a frame is silence."""
FLOOR = 10 ** (-66 / 20)
PORTION = 2000
BLOCK = 4096
"""Samples of one step of the filter."""


@dataclass(frozen=True)
class PitchTrack:
    """One value a frame: `time` of its middle in seconds, `midi` (fractional key, NaN where unpitched), `decibels` of
    what carries the pitch."""

    time: Floats
    midi: Floats
    decibels: Floats

    @property
    def pitched(self) -> Flags:
        return np.asarray(~np.isnan(self.midi))


def pitch_track(sound: Floats, rate: int = RATE) -> PitchTrack:
    """Track one voice in mono samples (-1..1). Too short a sound gives an empty track."""
    window, hop = round(WINDOW * rate), round(HOP * rate)
    if len(sound) < window:
        return PitchTrack(np.zeros(0), np.zeros(0), np.zeros(0))
    sound = np.asarray(sound, dtype=np.float64)
    carried = carrying(sound, rate)
    frames, passed = (np.lib.stride_tricks.sliding_window_view(s, window)[::hop] for s in (sound, carried))
    level = np.concatenate([loudness(part) for part in _portions(frames)])
    gate = max(FLOOR, float(np.percentile(level, 95)) * 10 ** (-GATE / 20))
    heard = np.flatnonzero(level > gate)
    key, aperiodicity = np.full(len(frames), np.nan), np.ones(len(frames))
    for part in np.array_split(heard, max(1, len(heard) // PORTION)):
        if len(part):
            period, aperiodicity[part] = yin(passed[part], round(rate / LOWEST), int(rate / HIGHEST))
            key[part] = 69 + 12 * np.log2(rate / period / 440)
    midi = np.where(_borne(key, aperiodicity), key, np.nan)
    time = (np.arange(len(frames)) * hop + window / 2) / rate
    return PitchTrack(time, midi, close_loudness(carried, rate))


def _borne(key: Floats, aperiodicity: Floats) -> Flags:
    """Frames that are pitched, and weaker ones that go on from them at nearly the same pitch."""
    sure, weak = aperiodicity < PITCHED, aperiodicity < WEAK
    joined = np.zeros(len(key), dtype=bool)
    joined[1:] = weak[1:] & weak[:-1] & (np.abs(np.diff(key)) < JOINED)
    run = np.cumsum(~joined)
    result: Flags = weak & np.isin(run, run[sure])
    return result


def loudness(frames: Floats) -> Floats:
    """Each frame's root mean square about its mean: a device's constant offset is no sound."""
    result: Floats = np.std(frames, axis=1)
    return result


def carrying(sound: Floats, rate: int = RATE) -> Floats:
    """What of the sound carries the pitch, as long as it was and not delayed: block by block through the FFT."""
    taps = bandpass(rate)
    step = BLOCK - len(taps) + 1
    blocks = -(-len(sound) // step)
    padded = np.pad(sound, (len(taps) // 2, blocks * step - len(sound) + len(taps) // 2))
    parts = np.lib.stride_tricks.sliding_window_view(padded, BLOCK)[::step]
    shape = np.fft.rfft(taps, BLOCK)
    out = [np.fft.irfft(np.fft.rfft(p, axis=1) * shape, BLOCK, axis=1)[:, len(taps) - 1 :] for p in _portions(parts)]
    result: Floats = np.concatenate(out).ravel()[: len(sound)]
    return result


def bandpass(rate: int = RATE) -> Floats:
    """The weights of an odd number of samples, symmetrical about the middle one: a lowpass less its running mean."""
    at = np.arange(TAPS) - TAPS // 2
    low = np.sinc(2 * PASSED / rate * at) * np.hanning(TAPS + 2)[1:-1]
    low /= low.sum()
    size = int(rate / LOWEST) | 1
    result: Floats = np.pad(low, size // 2) - np.convolve(low, np.full(size, 1 / size))
    return result


def close_loudness(passed: Floats, rate: int = RATE) -> Floats:
    """Root mean square of the CLOSE seconds around each frame's middle, in decibels."""
    near, window, hop = round(CLOSE * rate), round(WINDOW * rate), round(HOP * rate)
    energy = np.append(0.0, np.cumsum(passed**2))
    first = np.arange((len(passed) - window) // hop + 1) * hop + (window - near) // 2
    mean = np.maximum(energy[first + near] - energy[first], 0.0) / near
    result: Floats = 10 * np.log10(np.maximum(mean, 1e-18))
    return result


def _portions(frames: Floats) -> list[Floats]:
    return [frames[at : at + PORTION] for at in range(0, len(frames), PORTION)]


def difference(frames: Floats, longest: int) -> Floats:
    """Equation 6 for lags 0..`longest`: frames × lags. The sum runs over the frame less its longest lag."""
    size = frames.shape[1]
    inside = size - longest
    length = 1 << (size - 1).bit_length()
    head = np.fft.rfft(frames[:, :inside], length)
    whole = np.fft.rfft(frames, length)
    product = np.fft.irfft(np.conj(head) * whole, length)[:, : longest + 1]
    energy = np.cumsum(np.pad(frames**2, ((0, 0), (1, 0))), axis=1)
    shifted = energy[:, inside : inside + longest + 1] - energy[:, : longest + 1]
    result: Floats = np.maximum(shifted[:, :1] + shifted - 2 * product, 0.0)
    return result


def yin(frames: Floats, longest: int, shortest: int = 2) -> tuple[Floats, Floats]:
    """Each frame's period in samples and its aperiodicity (0 periodic, 1 noise)."""
    raw = difference(frames, longest + 1)
    lags = np.arange(1, longest + 2)
    mean = np.cumsum(raw[:, 1:], axis=1) / lags
    normal = np.ones_like(raw)
    normal[:, 1:] = raw[:, 1:] / np.maximum(mean, 1e-12)
    middle = normal[:, shortest : longest + 1]
    dip = (middle <= normal[:, shortest - 1 : longest]) & (middle < normal[:, shortest + 1 : longest + 2])
    depth = np.where(dip, middle, np.inf)
    deepest = np.min(depth, axis=1, keepdims=True)
    first = np.argmax(depth <= np.maximum(THRESHOLD, deepest + NEAR + NEAR_SHARE * deepest), axis=1)
    at, row = first + shortest, np.arange(len(frames))
    left, here, right = raw[row, at - 1], raw[row, at], raw[row, at + 1]
    bend = left - 2 * here + right
    move = np.where(bend > 1e-12, 0.5 * (left - right) / np.where(bend > 1e-12, bend, 1.0), 0.0)
    return at + np.clip(move, -1.0, 1.0), depth[row, first]
