"""Something else than the loop sounds once on the session's player; afterwards all is as it was.

A question is heard whole, whatever was muted for practising: mutes are lifted meanwhile and set again on leaving.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from earloop.performing import STRANDS, Performance, Strand
from earloop.session.player_port import PlayerPort
from earloop.session.session import Session

SETTLED = 0.3
"""Seconds of silence after which it has ended: news that is older than the last command may still be under way."""
NEVER = 10.0
"""Seconds after which what has not begun to sound is given up."""


class Aside:
    """Make one, `sound` as often as wished, then `leave`: the loop waits, silent, at the place where it was.

    `place_of_loop` is that place, in performed quarters of the loop's pass.
    """

    def __init__(self, session: Session, clock: Callable[[], float] = time.monotonic) -> None:
        self._session = session
        self._clock = clock
        self._player: PlayerPort = session.player
        self.place_of_loop = max(0.0, self._player.snapshot().position)
        self._begun = self._left = False
        self._lent: Performance | None = None
        self._lifted: tuple[Strand, ...] = ()
        self._sounding = self._seen = False
        self._silent_since = self._last = 0.0

    def sound(self, performance: Performance, strands: Iterable[Strand] = STRANDS) -> None:
        """Sound it once from its start, in place of whatever sounds; `strands` are those that must be heard."""
        if self._left:
            return
        if not self._begun:
            self._begin(tuple(strands))
        self._player.stop()
        self._player.load(performance, "now", False)
        self._player.seek(0.0)
        self._player.play()
        self._sounding, self._seen, self._silent_since = True, False, self._clock()
        self._last = 0.0

    def stop(self) -> None:
        """Silence."""
        if self._sounding:
            self._player.stop()
            self._sounding = False

    @property
    def place(self) -> float | None:
        """The quarter that is heard now; None once it has ended or was stopped."""
        if not self._sounding:
            return None
        snap, now = self._player.snapshot(), self._clock()
        if snap.playing:
            self._seen, self._silent_since = True, now
            self._last = max(0.0, snap.position)
            return self._last
        if now - self._silent_since > (SETTLED if self._seen else NEVER):
            self._sounding = False
            return None
        return self._last

    def leave(self) -> None:
        """Everything as it was. May be called twice."""
        if self._left or not self._begun:
            self._left = True
            return
        self._left, self._sounding = True, False
        self._player.stop()
        self._player.loops(None)
        for strand in self._lifted:
            self._player.mute(strand, True)
        self._player.alone(self._session.only)
        self._session.take_player_back()
        # A pedal or a later reading may have put something else in the loop.
        self._player.seek(self.place_of_loop if self._session.performance == self._lent else 0.0)

    def _begin(self, strands: tuple[Strand, ...]) -> None:
        self._begun = True
        self._session.lend_player()
        self._lent = self._session.performance
        self.place_of_loop = max(0.0, self._player.snapshot().position)
        self._lifted = tuple(strand for strand in strands if strand in self._session.muted)
        for strand in self._lifted:
            self._player.mute(strand, False)
        if self._session.only is not None:
            self._player.alone(None)
        self._player.loops(1)
