"""What a speaker or a sound file is filled from: a sounder that renders a stream."""

from __future__ import annotations

from typing import Protocol

from earloop.sounding.timbres import Floats
from earloop.transport.sounder import Sounder


class Instrument(Sounder, Protocol):
    """Its clock is its stream: `now` is the second of the next frame. `sounding` counts tones, releases included."""

    rate: int
    frame: int

    @property
    def sounding(self) -> int: ...

    def render(self, frames: int) -> Floats: ...
