"""Seconds ↔ quarters: a straight line through one known point, redrawn whenever the tempo changes."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

SLOWEST, FASTEST = 0.1, 3.0
"""The range of the live tempo factor (10 to 300 %)."""


@dataclass(frozen=True, slots=True)
class Pace:
    """At `seconds` the music is at `quarters`, and it moves `speed` quarters a second."""

    seconds: float
    quarters: float
    speed: float

    def seconds_at(self, quarters: float) -> float:
        return self.seconds + (quarters - self.quarters) / self.speed

    def quarters_at(self, seconds: float) -> float:
        return self.quarters + (seconds - self.seconds) * self.speed

    def changed(self, seconds: float, speed: float) -> Pace:
        """The same place at `seconds`, another speed from there on."""
        return Pace(seconds, self.quarters_at(seconds), speed)


@dataclass(frozen=True, slots=True)
class Ramp:
    """Each pass `step` (a tempo factor, above 0) nearer to `goal`."""

    goal: float
    step: float

    def after(self, factor: float) -> float:
        """The factor of the next pass."""
        if factor < self.goal:
            return min(self.goal, factor + self.step)
        return max(self.goal, factor - self.step)

    def passes_from(self, factor: float) -> int:
        """How many passes it takes until one sounds at the goal, that one included."""
        return 1 + ceil(abs(self.goal - factor) / self.step - 1e-9)


def within_range(factor: float) -> float:
    """The factor, held between 10 and 300 %."""
    return min(FASTEST, max(SLOWEST, factor))
