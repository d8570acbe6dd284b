"""One tone of the built-in synth, computed from its start: every sample is a closed formula of its index.

So a tone comes out the same however the stream is cut into blocks, and starts and ends on the exact sample.
"""

from __future__ import annotations

import sys
from functools import lru_cache
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from earloop.performing.events import Strand
from earloop.sounding.timbres import PLACES, TABLE, Floats, Timbre, table_of
from earloop.transport.tuning import frequency

LEGATO = 0.03
"""Seconds in which a bound tone takes over from the one before."""

QUICK = 0.015
"""Seconds in which everything fades when silence is asked for: as good as at once, and without a click."""

VIBRATO_RATE, VIBRATO_DELAY, VIBRATO_GROWTH = 5.3, 0.35, 0.5
"""Hz; seconds until it begins; seconds until it is full."""

MIDDLE_C = 261.63

WHOLE_TURN = 1 << 32
FRACTION_BITS = 32 - TABLE.bit_length() + 1
FRACTION = 1 << FRACTION_BITS
"""A period is 2³² steps of phase: the upper bits find the place in the table, the lower ones the way to the next."""


@lru_cache(maxsize=1024)
def tables(timbre: Timbre, midi: int, rate: int) -> tuple[tuple[Floats, ...], float]:
    """The waveforms of a timbre's bands at a key, and the factor that gives all keys the same power."""
    made = [table_of(partials, frequency(midi), rate) for partials, _ in timbre.bands]
    power = sum(power for _, power in made)
    return tuple(table for table, _ in made), timbre.gain / sqrt(power) if power > 0 else 0.0


class ToneVoice:
    """A tone from frame `start` on; `stop` plans its release, `cut` a quick fade. `gone(frame)` says it's over."""

    def __init__(
        self,
        midi: int,
        cents: float,
        loudness: float,
        strand: Strand,
        start: int,
        rate: int,
        legato: bool = False,
        before: ToneVoice | None = None,
    ) -> None:
        """`legato` binds it to the next tone of its strand; `before` is the tone that is bound to this one."""
        place = PLACES[strand]
        self.timbre = place.timbre
        self.strand: Strand = strand
        self.start = start
        self.rate = rate
        self.bands, factor = tables(self.timbre, midi, rate)
        self.gain = factor * 0.18 * max(0.0, min(1.0, loudness)) ** 1.5
        angle = (place.side + 1) * pi / 4
        self.left, self.right = self.gain * np.cos(angle) * sqrt(2), self.gain * np.sin(angle) * sqrt(2)
        hertz = frequency(midi, cents)
        self.step = round(hertz / rate * WHOLE_TURN)
        self.vibrato_from = round(VIBRATO_DELAY * rate)
        self.quick = max(1, round(QUICK * rate))
        self.decays = tuple(decay * (hertz / MIDDLE_C) ** 0.5 / rate for _, decay in self.timbre.bands)
        self.attack = max(1, round(min(self.timbre.attack, LEGATO if before else 1.0) * rate))
        self.release = max(1, round(self.timbre.release * rate))
        self.legato = legato
        # Two waves that pass the sound on to each other in step never cancel out.
        self.phase = before.phase_at(start) if before else 0
        self.end: int | None = None
        self.cut_at: int | None = None

    def phase_at(self, frame: int) -> int:
        """The phase, vibrato apart, in parts of WHOLE_TURN."""
        return (self.phase + (frame - self.start) * self.step) % WHOLE_TURN

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
        if frame >= self._last_frame():
            return True
        return bool(min(self.decays) > 0 and (frame - self.start) * min(self.decays) > 12)

    def add_to(self, out: Floats, frame: int) -> None:
        """Adds the tone to a stereo block (frames × 2) whose first frame is `frame`."""
        low = max(0, self.start - frame)
        high = min(len(out), self._last_frame() - frame)
        if low >= high:
            return
        first = frame + low - self.start
        wave = self._wave(first, high - low)
        self._shape(wave, first)
        out[low:high, 0] += wave * np.float32(self.left)
        out[low:high, 1] += wave * np.float32(self.right)

    def _last_frame(self) -> int:
        """The frame from which on nothing sounds, as far as it is known."""
        ends = [sys.maxsize]
        if self.end is not None:
            ends.append(self.end + self.release)
        if self.cut_at is not None:
            ends.append(self.cut_at + self.quick)
        return min(ends)

    def _wave(self, first: int, frames: int) -> Floats:
        """`frames` samples from index `first` on, before attack and release. The phase is a 32-bit whole number that
        wraps by itself, so that no rounding adds up and every cutting into blocks gives the same samples."""
        phase = np.arange(frames, dtype=np.uint32)
        phase *= np.uint32(self.step)
        phase += np.uint32(self.phase_at(self.start + first))
        if self.timbre.vibrato and first + frames > self.vibrato_from:
            phase += self._vibrato(first, frames)
        place = (phase >> np.uint32(FRACTION_BITS)).astype(np.intp)
        part = (phase & np.uint32(FRACTION - 1)).astype(np.float32)
        part *= np.float32(1 / FRACTION)
        total: Floats | None = None
        for table, decay in zip(self.bands, self.decays, strict=True):
            wave = np.take(table, place)
            wave += part * np.take(table[1:] - table[:-1], place)
            if decay:
                wave *= np.exp(np.arange(first, first + frames, dtype=np.float32) * np.float32(-decay))
            total = wave if total is None else total + wave
        assert total is not None
        return total

    def _vibrato(self, first: int, frames: int) -> NDArray[np.uint32]:
        """A sine of growing depth, as phase, so that the mean pitch stays the tone's own."""
        turn = 2 * pi * VIBRATO_RATE / self.rate
        depth = self.step * (2 ** (self.timbre.vibrato / 1200) - 1) / turn
        index = np.arange(first, first + frames, dtype=np.float32)
        grown = np.clip((index - self.vibrato_from) * np.float32(1 / (VIBRATO_GROWTH * self.rate)), 0.0, 1.0)
        grown *= np.sin(index * np.float32(turn))
        grown *= np.float32(depth)
        return np.asarray(grown.astype(np.int64).astype(np.uint32))

    def _shape(self, wave: Floats, first: int) -> None:
        """Attack, release and cut are half cosines that multiply, so any of them may begin within another."""
        _multiply(wave, rise(self.attack), -first)
        if self.end is not None:
            _multiply(wave, fall(self.release), self.end - self.start - first)
        if self.cut_at is not None:
            _multiply(wave, fall(self.quick), self.cut_at - self.start - first)


def _multiply(wave: Floats, curve: Floats, at: int) -> None:
    """Multiplies what of `curve`, laid at index `at` of the wave, falls within it."""
    low, high = max(0, at), min(len(wave), at + len(curve))
    if low < high:
        wave[low:high] *= curve[low - at : high - at]


@lru_cache(maxsize=256)
def rise(width: int) -> Floats:
    """From 0 to 1 by a half cosine in `width` samples."""
    return np.asarray(0.5 - 0.5 * np.cos(pi * np.arange(width) / width), dtype=np.float32)


@lru_cache(maxsize=256)
def fall(width: int) -> Floats:
    """From 1 to 0 likewise."""
    return np.asarray(1 - rise(width), dtype=np.float32)
