"""The pitch while it sounds: the same YIN as on a recording, frame by frame as the samples come."""

from __future__ import annotations

import numpy as np

from earloop.hearing.pitch_track import FLOOR, GATE, HIGHEST, LOWEST, PITCHED, RATE, WINDOW, Floats, yin

HOP = 0.020
"""Seconds between frames: 50 a second, so that each report holds a new one."""
FORGETS = 8.0
"""Seconds in which the loudness that the gate is set by falls by 20 dB: a recording's gate knows its whole length."""


class LiveTrack:
    """Feed blocks of mono samples at RATE; each call gives (second of the stream, key or None, decibels) a frame."""

    def __init__(self) -> None:
        self._window, self._hop = round(WINDOW * RATE), round(HOP * RATE)
        self._rest = np.zeros(0)
        self._begun = 0
        self._loud = FLOOR

    def feed(self, samples: Floats) -> list[tuple[float, float | None, float]]:
        self._rest = np.concatenate([self._rest, samples])
        count = (len(self._rest) - self._window) // self._hop + 1
        if count <= 0:
            return []
        frames = np.lib.stride_tricks.sliding_window_view(self._rest, self._window)[:: self._hop][:count]
        level, period = self._heard(frames)
        out = [self._frame(k, float(level[k]), float(period[k])) for k in range(count)]
        self._rest = self._rest[count * self._hop :]
        self._begun += count * self._hop
        return out

    def _heard(self, frames: Floats) -> tuple[Floats, Floats]:
        level = np.sqrt(np.mean(frames**2, axis=1))
        period, aperiodicity = yin(frames, round(RATE / LOWEST), int(RATE / HIGHEST))
        return level, np.where(aperiodicity < PITCHED, period, np.nan)

    def _frame(self, number: int, level: float, period: float) -> tuple[float, float | None, float]:
        self._loud = max(level, self._loud * 10 ** (-HOP / FORGETS), FLOOR)
        open_gate = level > max(FLOOR, self._loud * 10 ** (-GATE / 20))
        midi = 69 + 12 * float(np.log2(RATE / period / 440)) if open_gate and not np.isnan(period) else None
        middle = (self._begun + number * self._hop + self._window / 2) / RATE
        return middle, midi, 20 * float(np.log10(max(level, 1e-9)))
