"""The time of a spell of practice: when it began, when it is noted so far, and whether it was long enough at all."""

from __future__ import annotations

import time
from collections.abc import Callable
from uuid import uuid4

SHORTEST = 1.0
"""A spell below so many seconds is a key pressed in passing, not practice."""
SO_FAR = 5.0
"""Seconds between notes of a spell that goes on: as much is lost where the program is killed."""


class SpellTime:
    """`note` gets the spell's token, by which later notes find the earlier ones, and its seconds up to then."""

    def __init__(self, note: Callable[[str, float], None], clock: Callable[[], float] = time.monotonic) -> None:
        self._note, self._clock = note, clock
        self._began: float | None = None
        self._noted = 0.0
        self._token = ""

    @property
    def going(self) -> bool:
        """Whether a spell is on."""
        return self._began is not None

    def begin(self) -> None:
        """A spell begins now; one that is on counts no more."""
        self._began = self._noted = self._clock()
        self._token = uuid4().hex

    def look(self) -> None:
        """Note the spell so far, where it is time again; call it a few times a second."""
        if self._began is not None and self._clock() - self._noted >= SO_FAR:
            self._tell(self._began)

    def end(self) -> None:
        """The spell is over. May be called twice."""
        began = self._began
        if began is not None and self._clock() - began >= SHORTEST:
            self._tell(began)
        self._began = None

    def _tell(self, began: float) -> None:
        self._noted = self._clock()
        self._note(self._token, round(self._noted - began, 1))
