"""Playing without a session, as from the command line: noted as a spell on the stand is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from uuid import uuid4

from earloop.journal import Happening, UnderWay
from earloop.session.diary import Diary
from earloop.session.player_port import Where
from earloop.session.practising import SHORTEST, SO_FAR


class Played:
    """`look` with each snapshot of the player, `end` at last. `what` lacks only its time, seconds and passes."""

    def __init__(self, diary: Diary, what: Happening, clock: Callable[[], float] = time.monotonic) -> None:
        self._diary, self._what, self._clock = diary, what, clock
        self._began: float | None = None
        self._noted = 0.0
        self._passes = 0
        self._token = ""

    def look(self, where: Where) -> None:
        """See how far the player is; stopped and begun again is another spell."""
        if not where.playing:
            self.end()
            return
        if self._began is None:
            self._began = self._noted = self._clock()
            self._passes, self._token = 0, uuid4().hex
        self._passes = max(self._passes, where.pass_number)
        if self._clock() - self._noted >= SO_FAR:
            self._note(self._began)

    def end(self) -> None:
        """The playing is over. May be called twice."""
        began, self._began = self._began, None
        if began is not None and self._clock() - began >= SHORTEST:
            self._note(began)

    def _note(self, began: float) -> None:
        self._noted = self._clock()
        detail = {"passes": max(1, self._passes), **self._what.detail}
        seconds = round(self._noted - began, 1)
        self._diary.note(
            UnderWay(self._token, replace(self._what, at=datetime.now(UTC), seconds=seconds, detail=detail))
        )
