"""Whose turn it is in a loop: from the player's place to the moments between which the answer is sung.

The player says where it is heard and at which monotonic second that holds; from there to the gap is arithmetic. What
the sound system's buffers add is in that place already; what lies beyond (a wireless headphone, say) is not known.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from earloop.layers import Layer
from earloop.performing import Performance
from earloop.reading import Reading
from earloop.session.judging import Asked
from earloop.session.player_port import Where

LEAD, TAIL = 0.10, 0.15
"""Seconds before and after the turn that are listened to as well: a singer may be early, or hold the last tone."""
LEAST = 0.5
"""Share of a turn from which an answer counts although the player was stopped."""


@dataclass(frozen=True, slots=True)
class Task:
    """What the loop asks for just now."""

    reading: Reading
    layer: Layer
    performance: Performance
    phrase: int | None


@dataclass(frozen=True, slots=True)
class Turn:
    """The singer's time, in monotonic seconds; `end` is foreseen."""

    asked: Asked
    begin: float
    end: float


class Turns:
    """Look at the player often. `open` is the turn that has begun; `look` gives it back when it is over.

    `along`: the turn is the sounding part, not the gap. A pass in whose midst the layer was changed isn't judged.
    """

    def __init__(self, along: bool = False) -> None:
        self.along = along
        self.open: Turn | None = None
        self.until: float | None = None
        """The moment at which the next turn begins, where one is foreseen."""
        self._task: Task | None = None
        self._spoilt = False
        self._last = 0.0

    def look(self, where: Where, task: Task) -> Turn | None:
        """The turn that ended since the last look."""
        if not where.playing:
            self._task, self.until = None, None
            return self._closed(where.at)
        done = None
        changed = self._task is None or task.performance is not self._task.performance
        back = where.position < self._last - (0.1 if changed else task.performance.length / 2)
        if self._task is None or back:
            done = self._closed(None)
            self._task, self._spoilt = task, False
        elif changed:
            self._spoilt = True
        self._last = where.position
        self._measure(where)
        return done

    def _measure(self, where: Where) -> None:
        """Where the turn of this pass begins and ends, by the newest place."""
        task = self._task
        assert task is not None
        pace = 60.0 / (task.performance.tempo * max(0.01, where.tempo))
        length, gap = task.performance.length, task.performance.answer_from
        if self.along:
            first, last = 0.0, length if gap is None else gap
        elif gap is not None:
            first, last = gap, length
        else:
            self.open, self.until = None, None
            return
        begin, end = (where.at + (place - where.position) * pace for place in (first, last))
        self.until = begin if where.position < first else None
        if not first <= where.position <= last:
            return
        if self.open is None:
            asked = Asked(task.reading, task.layer, task.performance, pace, begin, task.phrase)
            self.open = Turn(asked, begin, end)
        else:
            # What began is past: a tempo that changes, or a device that goes slow, moves only the end.
            self.open = replace(self.open, end=end)

    def _closed(self, stopped_at: float | None) -> Turn | None:
        turn, self.open = self.open, None
        if turn is None or self._spoilt:
            return None
        if stopped_at is not None and stopped_at < turn.end:
            if stopped_at - turn.begin < LEAST * (turn.end - turn.begin):
                return None
            return replace(turn, end=stopped_at)
        return turn
