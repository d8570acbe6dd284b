"""What makes sound: the protocol every sounder keeps, whether a speaker, a MIDI port, a file or nothing."""

from __future__ import annotations

from typing import Protocol

from earloop.performing.events import Strand


class Sounder(Protocol):
    """Turns events into sound at a given moment. A sounder never decides when.

    `at` is a time in seconds on the clock that `now` reads. `start` returns a voice number that `stop` takes; `legato`
    binds the tone to the one of its strand that sounds. `level` (0..1) is the loudness of everything.
    `silence` ends everything at once and is safe to call at any time, more than once, from a failing program.
    """

    name: str

    def open(self) -> None: ...

    def now(self) -> float: ...

    def start(
        self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False
    ) -> int: ...

    def stop(self, voice: int, at: float) -> None: ...

    def level(self, level: float) -> None: ...

    def silence(self) -> None: ...

    def close(self) -> None: ...
