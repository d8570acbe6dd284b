"""Where in the layer a singer is, while it sounds: the next tones in order, octave free, in any time.

A tone is entered when the pitch has come near it for a moment; one or two tones may be left out. The judgement after
the answer goes by alignment of the whole (`alignment.py`); this is for the eye.
"""

from __future__ import annotations

from collections.abc import Sequence

REACH = 75.0
"""Cents within which a frame is on a tone."""
ENTERS = (3, 6, 10)
"""Frames (of 20 ms) that the next tone, the one after it, and the third need."""


class Follower:
    """Feed frames in order. `place` is the tone one is on (-1 before the first), `entered[k]` when k was begun."""

    def __init__(self, keys: Sequence[float]) -> None:
        self._keys = keys
        self._near = [0] * len(ENTERS)
        self.place = -1
        self.entered: dict[int, float] = {}

    def feed(self, moment: float, midi: float | None) -> None:
        """One frame; None where it is unpitched."""
        if midi is None or (self.place >= 0 and self.off(midi, self.place) < REACH):
            self._near = [0] * len(ENTERS)
            return
        for ahead, needed in enumerate(ENTERS):
            place = self.place + 1 + ahead
            if place >= len(self._keys):
                break
            self._near[ahead] = self._near[ahead] + 1 if self.off(midi, place) < REACH else 0
            if self._near[ahead] >= needed:
                self.place, self._near = place, [0] * len(ENTERS)
                self.entered[place] = moment
                break

    def off(self, midi: float, place: int) -> float:
        """Cents from the tone, octave free, without sign."""
        return abs((100 * (midi - self._keys[place]) + 600) % 1200 - 600)
