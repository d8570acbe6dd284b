"""The pitch while it sounds: the same bandpass and YIN as on a recording, frame by frame as the samples come.

The bandpass looks half its length ahead, so that each frame waits for 11 ms of sound after its own.
"""

from __future__ import annotations

import numpy as np

from earloop.hearing.pitch_track import (
    FLOOR,
    GATE,
    HIGHEST,
    LOWEST,
    PITCHED,
    RATE,
    WINDOW,
    Floats,
    bandpass,
    loudness,
    yin,
)

HOP = 0.020
"""Seconds between frames: 50 a second, so that each report holds a new one."""
FORGETS = 8.0
"""Seconds in which the loudness that the gate is set by falls by 20 dB: a recording's gate knows its whole length."""


class LiveTrack:
    """Feed blocks of mono samples at RATE; each call gives (second of the stream, key or None, decibels) a frame."""

    def __init__(self) -> None:
        self._window, self._hop = round(WINDOW * RATE), round(HOP * RATE)
        self._bandpass = bandpass()
        self._ahead = np.zeros(len(self._bandpass) // 2)
        """The last samples, which the bandpass still needs; at the beginning the silence before it."""
        self._sound, self._passed = np.zeros(0), np.zeros(0)
        """What is left from the next frame on, as it came and through the bandpass."""
        self._begun = 0
        self._loud = FLOOR

    def feed(self, samples: Floats) -> list[tuple[float, float | None, float]]:
        self._take(samples)
        count = (len(self._passed) - self._window) // self._hop + 1
        if count <= 0:
            return []
        sound, passed = (
            np.lib.stride_tricks.sliding_window_view(s, self._window)[:: self._hop][:count]
            for s in (self._sound, self._passed)
        )
        level, period = loudness(sound), self._period(passed)
        out = [self._frame(k, float(level[k]), float(period[k])) for k in range(count)]
        self._sound, self._passed = self._sound[count * self._hop :], self._passed[count * self._hop :]
        self._begun += count * self._hop
        return out

    def _take(self, samples: Floats) -> None:
        self._sound = np.concatenate([self._sound, samples])
        whole = np.concatenate([self._ahead, samples])
        if len(whole) >= len(self._bandpass):
            self._passed = np.concatenate([self._passed, np.convolve(whole, self._bandpass, "valid")])
            whole = whole[len(whole) - len(self._bandpass) + 1 :]
        self._ahead = whole

    def _period(self, frames: Floats) -> Floats:
        period, aperiodicity = yin(frames, round(RATE / LOWEST), int(RATE / HIGHEST))
        return np.where(aperiodicity < PITCHED, period, np.nan)

    def _frame(self, number: int, level: float, period: float) -> tuple[float, float | None, float]:
        self._loud = max(level, self._loud * 10 ** (-HOP / FORGETS), FLOOR)
        open_gate = level > max(FLOOR, self._loud * 10 ** (-GATE / 20))
        midi = 69 + 12 * float(np.log2(RATE / period / 440)) if open_gate and not np.isnan(period) else None
        middle = (self._begun + number * self._hop + self._window / 2) / RATE
        return middle, midi, 20 * float(np.log10(max(level, 1e-9)))
