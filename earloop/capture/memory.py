"""The last minutes of sound, and when each sample arrived. Older sound is forgotten; nothing is written anywhere.

Latency: a block is in hand the moment its last sample has been taken, so a sample's moment is that of the earliest
arrival the stream allows (later arrivals are waits of ours). What a converter or a wireless link adds before is not
known to us; it shifts every tone alike, and free time doesn't count it.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from earloop.capture.decimation import DEVICE_RATE
from earloop.hearing.pitch_track import Floats

HORIZON = 300.0
"""Seconds kept: 29 MB at 16 bits."""
SETTLES = 0.5
"""Seconds of arrivals the stream's clock is judged by: enough to see past our own waits, short enough to follow a drop
or a device whose rate isn't quite what it says."""


class StreamClock:
    """Sample numbers → monotonic seconds."""

    def __init__(self, rate: int = DEVICE_RATE) -> None:
        self.rate = rate
        self._starts: deque[tuple[float, float]] = deque()
        self.start = 0.0

    def arrived(self, samples: int, moment: float) -> None:
        """`samples` in all had arrived at the moment."""
        self._starts.append((moment, moment - samples / self.rate))
        while self._starts[0][0] < moment - SETTLES:
            self._starts.popleft()
        self.start = min(start for _, start in self._starts)

    def moment(self, sample: float) -> float:
        return self.start + sample / self.rate


class Memory:
    """Append blocks; take out what sounded between two moments.

    Each block keeps its own moment, so that a stretch the device dropped, or a rate that isn't what it says, shifts
    nothing that was heard before or after.
    """

    def __init__(self, horizon: float = HORIZON) -> None:
        self.clock = StreamClock()
        self.total = 0
        self._horizon = round(horizon * self.clock.rate)
        self._blocks: deque[Block] = deque()

    def append(self, samples: Floats, moment: float) -> None:
        """`moment` is when the block was in hand."""
        first = self.total
        self.total += len(samples)
        self.clock.arrived(self.total, moment)
        sound = np.round(np.clip(samples, -1, 1) * 32767).astype(np.int16)
        self._blocks.append(Block(first, self.clock.moment(first), sound))
        while self._blocks and self._blocks[0].first + len(self._blocks[0].sound) < self.total - self._horizon:
            self._blocks.popleft()

    @property
    def until(self) -> float:
        """The moment up to which sound has arrived; 0 where none has."""
        return self.clock.moment(self.total) if self.total else 0.0

    def between(self, begin: float, end: float) -> Stretch:
        """What sounded between two moments."""
        rate = self.clock.rate
        blocks = [b for b in tuple(self._blocks) if b.moment < end and b.moment + len(b.sound) / rate > begin]
        if not blocks:
            return Stretch(np.zeros(0), np.zeros(1), np.array([begin]))
        skip = max(0, round((begin - blocks[0].moment) * rate))
        stop = max(0, round((blocks[-1].moment - end) * rate) + len(blocks[-1].sound))
        sound = np.concatenate([b.sound for b in blocks])[skip:]
        sound = sound[: len(sound) - stop] if stop else sound
        places = np.array([b.first - blocks[0].first - skip for b in blocks], dtype=np.float64)
        return Stretch(sound.astype(np.float64) / 32767, places, np.array([b.moment for b in blocks]))


@dataclass(frozen=True, slots=True)
class Block:
    """`first` counts samples of the stream; `moment` is that of its first sample."""

    first: int
    moment: float
    sound: np.ndarray[tuple[int], np.dtype[np.int16]]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Samples (-1..1 at DEVICE_RATE), and pairs of places in them (samples) and moments, both rising."""

    sound: Floats
    places: Floats
    moments: Floats

    def moment(self, seconds: float) -> float:
        """The monotonic second of a place so many seconds of sound after the first sample."""
        sample = seconds * DEVICE_RATE
        k = max(0, int(np.searchsorted(self.places, sample, side="right")) - 1)
        return float(self.moments[k] + (sample - self.places[k]) / DEVICE_RATE)
