"""Tones from a MIDI keyboard as answers: what is played after the question has sounded."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Any

PAUSE = 1.2
"""Seconds without a further key after which an answer of several tones is over."""


class KeyboardAnswers:
    """`player` is one whose snapshot tells of the tones heard (the engine); from any other none are heard."""

    def __init__(self, player: Any, clock: Callable[[], float] = time.monotonic) -> None:
        self._player, self._clock = player, clock
        self._known = self._count_of(player.snapshot())
        self._played: tuple[int, ...] = ()
        self._last = 0.0

    def heard(self, sounding: bool, may_go_on: Callable[[Sequence[int]], bool] = lambda keys: False) -> tuple[int, ...]:
        """The MIDI keys of an answer, once it is whole: when it may not go on, or nothing came for a while; else none.

        What is played while the question sounds is no answer: it may be the question itself, coming back.
        """
        new = self._new()
        if sounding:
            self._played = ()
            return ()
        for key in new:
            self._played, self._last = (*self._played, key), self._clock()
            if not may_go_on(self._played):
                return self._whole()
        return self._whole() if self._played and self._clock() - self._last > PAUSE else ()

    def _whole(self) -> tuple[int, ...]:
        played, self._played = self._played, ()
        return played

    def _new(self) -> list[int]:
        """The keys played since the last look."""
        now = self._player.snapshot()
        count = self._count_of(now)
        new, self._known = count - self._known, count
        keys = [int(key) for _, key, velocity in now.notes if velocity > 0] if new > 0 else []
        return keys[-min(new, len(keys)) :] if keys else []

    @staticmethod
    def _count_of(place: Any) -> int:
        count = getattr(place, "heard", 0)
        return count if isinstance(count, int) else 0
