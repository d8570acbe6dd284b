"""One tone of the built-in synth, computed from its start: every sample is a closed formula of its index.

So a tone comes out the same however the stream is cut into blocks, and starts and ends on the exact sample.
"""

from __future__ import annotations

from functools import lru_cache
from math import pi, sqrt

import numpy as np

from earloop.performing.events import Strand
from earloop.sounding.timbres import PLACES, TABLE, Floats, Timbre, table_of
from earloop.transport.tuning import frequency

LEGATO = 0.03
"""Seconds in which a bound tone takes over from the one before."""

QUICK = 0.006
"""Seconds in which everything fades when silence is asked for: as good as at once, and without a click."""

VIBRATO_RATE, VIBRATO_DELAY, VIBRATO_GROWTH = 5.3, 0.35, 0.5
"""Hz; seconds until it begins; seconds until it is full."""

MIDDLE_C = 261.63


@lru_cache(maxsize=1024)
def tables(timbre: Timbre, midi: int, rate: int) -> tuple[tuple[Floats, ...], float]:
    """The waveforms of a timbre's bands at a key, and the factor that gives all keys the same power."""
    made = [table_of(partials, frequency(midi), rate) for partials, _ in timbre.bands]
    power = sum(power for _, power in made)
    return tuple(table for table, _ in made), timbre.gain / sqrt(power) if power > 0 else 0.0


class ToneVoice:
    """A tone from frame `start` on; `stop` plans its release, `cut` a quick fade. `gone(frame)` says it's over."""

    def __init__(
        self, midi: int, cents: float, loudness: float, strand: Strand, start: int, rate: int, legato: bool
    ) -> None:
        place = PLACES[strand]
        self.timbre = place.timbre
        self.strand: Strand = strand
        self.start = start
        self.rate = rate
        self.bands, factor = tables(self.timbre, midi, rate)
        self.gain = factor * 0.22 * max(0.0, min(1.0, loudness)) ** 1.5
        angle = (place.side + 1) * pi / 4
        self.left, self.right = self.gain * np.cos(angle) * sqrt(2), self.gain * np.sin(angle) * sqrt(2)
        hertz = frequency(midi, cents)
        self.step = hertz / rate
        self.decays = tuple(decay * (hertz / MIDDLE_C) ** 0.5 / rate for _, decay in self.timbre.bands)
        self.attack = max(1, round((LEGATO if legato else self.timbre.attack) * rate))
        self.release = max(1, round(self.timbre.release * rate))
        self.end: int | None = None
        self.cut_at: int | None = None

    def stop(self, frame: int, bound: bool = False) -> None:
        """The release begins at `frame`; `bound` to the next tone it is as short as that one's attack."""
        if self.end is None:
            self.end = max(frame, self.start)
            if bound:
                self.release = max(1, round(LEGATO * self.rate))

    def cut(self, frame: int) -> None:
        if self.cut_at is None:
            self.cut_at = max(frame, self.start)

    def gone(self, frame: int) -> bool:
        """Whether nothing sounds from `frame` on."""
        if self.cut_at is not None and frame >= self.cut_at + round(QUICK * self.rate):
            return True
        if self.end is not None and frame >= self.end + self.release:
            return True
        return bool(min(self.decays) > 0 and (frame - self.start) * min(self.decays) > 12)

    def add_to(self, out: Floats, frame: int) -> None:
        """Adds the tone to a stereo block (frames × 2) whose first frame is `frame`."""
        low = max(0, self.start - frame)
        if low >= len(out):
            return
        index = np.arange(frame + low - self.start, frame + len(out) - self.start, dtype=np.float64)
        wave = self._wave(index)
        self._shape(wave, index)
        out[low:, 0] += wave * np.float32(self.left)
        out[low:, 1] += wave * np.float32(self.right)

    def _wave(self, index: np.ndarray) -> Floats:
        phase = index * self.step
        if self.timbre.vibrato:
            phase += self._vibrato(index)
        phase -= np.floor(phase)
        phase *= TABLE
        whole = phase.astype(np.int32)
        part = (phase - whole).astype(np.float32)
        total: Floats | None = None
        for table, decay in zip(self.bands, self.decays, strict=True):
            wave = table[whole]
            wave += part * (table[whole + 1] - wave)
            if decay:
                wave *= np.exp(-decay * index).astype(np.float32)
            total = wave if total is None else total + wave
        assert total is not None
        return total

    def _vibrato(self, index: np.ndarray) -> np.ndarray:
        """In periods: a sine whose depth grows, as phase, so that the mean pitch stays the tone's own."""
        turn = 2 * pi * VIBRATO_RATE / self.rate
        depth = self.step * (2 ** (self.timbre.vibrato / 1200) - 1) / turn
        grown = np.clip((index / self.rate - VIBRATO_DELAY) / VIBRATO_GROWTH, 0.0, 1.0)
        return np.asarray(depth * grown * np.sin(turn * index))

    def _shape(self, wave: Floats, index: np.ndarray) -> None:
        """Attack, release and cut are half cosines that multiply, so any of them may begin within another."""
        if index[0] < self.attack:
            wave *= _rise(index, 0, self.attack)
        if self.end is not None and index[-1] >= self.end - self.start:
            wave *= 1 - _rise(index, self.end - self.start, self.release)
        if self.cut_at is not None and index[-1] >= self.cut_at - self.start:
            wave *= 1 - _rise(index, self.cut_at - self.start, max(1, round(QUICK * self.rate)))


def _rise(index: np.ndarray, at: int, width: int) -> Floats:
    """From 0 to 1 by a half cosine in `width` samples from `at` on."""
    share = np.clip((index - at) / width, 0.0, 1.0)
    return np.asarray(0.5 - 0.5 * np.cos(pi * share), dtype=np.float32)
