"""What a sequencer that follows is told: start, stop, continue, song position, and 24 clocks a quarter (MIDI 1.0).

The clocks lie on the same musical time as the tones and run through the seams. They are counted, never added up.
"""

from __future__ import annotations

from math import ceil
from typing import Protocol, runtime_checkable

A_QUARTER = 24


@runtime_checkable
class Conductor(Protocol):
    """A sounder that passes transport on. `conducts` says whether anyone wants it."""

    conducts: bool

    def begin_at(self, quarters: float) -> None: ...

    def halt(self) -> None: ...

    def tick(self) -> None: ...


class Follower:
    """The clocks of one run, from `begin` quarters of unrolled time on."""

    def __init__(self, conductor: Conductor, begin: float) -> None:
        self._conductor = conductor
        self._begin: float | None = begin
        self._next = ceil(begin * A_QUARTER - 1e-9)
        self._offset = 0.0

    def peek(self) -> float:
        """When the next clock is, in unrolled quarters."""
        return self._next / A_QUARTER - self._offset

    def moved(self, old: float, new: float) -> Follower:
        """Unrolled time is counted anew: what was `old` is `new`; the clocks go on as if nothing had happened."""
        self._offset += old - new
        return self

    def take(self) -> None:
        """Sends it; before the first one, where the music begins."""
        if self._begin is not None:
            self._conductor.begin_at(self._begin)
            self._begin = None
        self._conductor.tick()
        self._next += 1

    def end(self) -> None:
        if self._begin is None:
            self._conductor.halt()
