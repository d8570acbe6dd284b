"""The silent output: everything goes on in time, and nothing sounds."""

from __future__ import annotations

import time
from itertools import count

from earloop.performing.events import Strand


class Silent:
    """Keeps count of what would sound, on the machine's steady clock."""

    name = "silent"

    def __init__(self) -> None:
        self._numbers = count(1)
        self.sounding: set[int] = set()

    def open(self) -> None:
        """Nothing to open."""

    def close(self) -> None:
        self.silence()

    def now(self) -> float:
        return time.monotonic()

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        number = next(self._numbers)
        self.sounding.add(number)
        return number

    def stop(self, voice: int, at: float) -> None:
        self.sounding.discard(voice)

    def level(self, level: float) -> None:
        """Nothing sounds at any level."""

    def silence(self) -> None:
        self.sounding.clear()
