"""Playing without a session, as from the command line: noted as a spell on the stand is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from earloop.journal import Happening, UnderWay
from earloop.journal.moment import now
from earloop.session.diary import Diary
from earloop.session.player_port import Where
from earloop.session.spell_time import SpellTime


class Played:
    """`look` with each snapshot of the player, `end` at last. `what` lacks only its time, seconds and passes."""

    def __init__(self, diary: Diary, what: Happening, clock: Callable[[], float] = time.monotonic) -> None:
        self._diary, self._what = diary, what
        self._time = SpellTime(self._note, clock)
        self._passes = 0

    def look(self, where: Where) -> None:
        """See how far the player is; stopped and begun again is another spell."""
        if not where.playing:
            self.end()
            return
        if not self._time.going:
            self._passes = 0
            self._time.begin()
        self._passes = max(self._passes, where.pass_number)
        self._time.look()

    def end(self) -> None:
        """The playing is over. May be called twice."""
        self._time.end()

    def _note(self, token: str, seconds: float) -> None:
        detail = {"passes": max(1, self._passes), **self._what.detail}
        self._diary.note(UnderWay(token, replace(self._what, at=now(), seconds=seconds, detail=detail)))
