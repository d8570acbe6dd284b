"""What makes sound: the protocol every sounder keeps, whether a speaker, a MIDI port, a file or nothing."""

from __future__ import annotations

from typing import Protocol

from earloop.performing.events import Strand


class Sounder(Protocol):
    """Turns events into sound at a given moment. A sounder never decides when.

    `at` is a time in seconds on the player's clock. `start` returns a voice number that `stop` takes.
    `silence` ends everything at once and is safe to call at any time, more than once, from a failing program.
    """

    name: str

    def open(self) -> None: ...

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float) -> int: ...

    def stop(self, voice: int, at: float) -> None: ...

    def silence(self) -> None: ...

    def close(self) -> None: ...
