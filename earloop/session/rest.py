"""When a rest is due: the time worked on end, whatever was practised and on which score."""

from __future__ import annotations

import time
from collections.abc import Callable

from earloop.coaching.plan import REST, REST_AFTER
from earloop.line.counted import counted

MOST_BETWEEN = 5.0
"""Seconds; a longer gap between two looks (a machine put to sleep) is no work."""


class RestWatch:
    """Tell it a few times a second whether there is work going on. `worked` counts seconds since the last rest."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._seen = clock()
        self._idle = 0.0
        self.worked = 0.0

    def look(self, working: bool) -> None:
        """So it is now. REST minutes without work are a rest."""
        now = self._clock()
        passed, self._seen = now - self._seen, now
        if working and passed <= MOST_BETWEEN:
            self.worked += passed
            self._idle = 0.0
            return
        self._idle += passed
        if self._idle >= 60 * REST:
            self.worked = 0.0

    @property
    def due(self) -> bool:
        """Whether a rest is to be proposed now."""
        return self.worked >= 60 * REST_AFTER

    def due_within(self, seconds: float) -> bool:
        """Whether so much more work would go beyond what should be done on end."""
        return self.worked > 0 and self.worked + seconds > 60 * REST_AFTER

    @property
    def told(self) -> str:
        """The proposal, with whom to ask."""
        minutes = round(self.worked / 60)
        return (
            f"You have worked for {counted(minutes, 'minute')}: rest {REST} now, voice and "
            "hands too, and stop at pain. What is good for you, a teacher or a specialist decides."
        )
