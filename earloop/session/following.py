"""Following the sound: which tone sounds now, and when the next one begins.

The player's news is up to a fifteenth of a second old; from its tempo we know how far the sound has come since. What
was handed over for the next seam is not what sounds until then.
"""

from __future__ import annotations

import time
from bisect import bisect_right
from dataclasses import dataclass

from earloop.session.heard import Heard
from earloop.session.player_port import Where

LONGEST_GUESS = 0.5
"""Seconds after its last news for which we suppose that a player goes on."""
NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Position:
    """Where the sound is: `tone` in the line (None before the first), `answering` in the silent half of a pass.

    `until_next` is how many seconds are left to the next tone, None where it doesn't play or that isn't known.
    """

    playing: bool
    tone: int | None
    pass_number: int
    answering: bool
    until_next: float | None = None


class Following:
    """Knows what was handed to the player, and what of it sounds."""

    def __init__(self) -> None:
        self._sounding: Heard | None = None
        self._waiting: tuple[Heard, int] | None = None

    def handed(self, heard: Heard, where: Where, at_seam: bool) -> None:
        """The player has been given this, for the next seam or at once."""
        if at_seam and where.playing and self._sounding is not None:
            self._waiting = (heard, where.pass_number)
        else:
            self._sounding, self._waiting = heard, None

    def position(self, where: Where) -> Position:
        """Where the sound is by the player's latest news; in an answer gap, where the singer should be."""
        heard = self._now_sounding(where)
        if heard is None:
            return Position(where.playing, None, where.pass_number, False)
        at, speed = self._place(heard, where)
        answer_from, answering = heard.performance.answer_from, False
        if answer_from is not None and at >= answer_from:
            at, answering = at - answer_from, True
        k = bisect_right(heard.onsets, at + NEAR) - 1
        later = heard.onsets[k + 1] if k + 1 < len(heard.onsets) else None
        until = (later - at) / speed if later is not None and speed > 0 else None
        return Position(where.playing, heard.sources[k] if k >= 0 else None, where.pass_number, answering, until)

    def _now_sounding(self, where: Where) -> Heard | None:
        """What waits for the seam takes over when the pass is another and its end is no longer heard."""
        if self._waiting is not None and self._sounding is not None:
            heard, handed_in = self._waiting
            begun = where.pass_number != handed_in and where.position < self._sounding.performance.length / 2
            if begun or not where.playing:
                self._sounding, self._waiting = heard, None
        return self._sounding

    def _place(self, heard: Heard, where: Where) -> tuple[float, float]:
        """Performed quarters from the pass's start by now, and quarters a second (0 where that isn't known)."""
        if not where.playing or where.at <= 0:
            return where.position, 0.0
        speed = heard.performance.tempo / 60 * where.tempo
        at = where.position + max(0.0, min(LONGEST_GUESS, time.monotonic() - where.at)) * speed
        length = heard.performance.length
        if where.position >= 0 and length > 0 and at >= length:
            at -= length
        return at, speed
