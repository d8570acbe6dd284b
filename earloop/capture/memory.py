"""The last minutes of sound, and when each sample arrived. Older sound is forgotten; nothing is written anywhere.

Latency: a block is in hand the moment its last sample has been taken, so a sample's moment is that of the earliest
arrival the stream allows (later arrivals are waits of ours). What a converter or a wireless link adds before is not
known to us; it shifts every tone alike, and free time doesn't count it.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from earloop.capture.decimation import DEVICE_RATE
from earloop.hearing.pitch_track import Floats

HORIZON = 300.0
"""Seconds kept: 29 MB at 16 bits."""
SETTLES = 0.5
"""Seconds of arrivals the stream's clock is judged by: enough to see past our own waits, short enough to follow a drop
or a device whose rate isn't quite what it says."""


class StreamClock:
    """Sample numbers ↔ monotonic seconds."""

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

    def sample(self, moment: float) -> int:
        return round((moment - self.start) * self.rate)


class Memory:
    """Append blocks; take out what sounded between two moments."""

    def __init__(self, horizon: float = HORIZON) -> None:
        self.clock = StreamClock()
        self.total = 0
        self._horizon = round(horizon * self.clock.rate)
        self._blocks: deque[tuple[int, np.ndarray[tuple[int], np.dtype[np.int16]]]] = deque()

    def append(self, samples: Floats, moment: float) -> None:
        """`moment` is when the block was in hand."""
        self._blocks.append((self.total, np.round(np.clip(samples, -1, 1) * 32767).astype(np.int16)))
        self.total += len(samples)
        self.clock.arrived(self.total, moment)
        while self._blocks and self._blocks[0][0] + len(self._blocks[0][1]) < self.total - self._horizon:
            self._blocks.popleft()

    @property
    def until(self) -> float:
        """The moment up to which sound has arrived; 0 where none has."""
        return self.clock.moment(self.total) if self.total else 0.0

    def between(self, begin: float, end: float) -> tuple[Floats, float]:
        """The samples (-1..1 at DEVICE_RATE) between two moments, and the moment of the first."""
        first, last = max(0, self.clock.sample(begin)), min(self.total, self.clock.sample(end))
        parts = [
            block[max(0, first - at) : max(0, last - at)]
            for at, block in self._blocks
            if at < last and at + len(block) > first
        ]
        if not parts:
            return np.zeros(0), begin
        first = max(first, self._blocks[0][0])
        return np.concatenate(parts).astype(np.float64) / 32767, self.clock.moment(first)
