"""The loop unrolled: which soundings begin and end in a span of musical time, pass after pass.

Musical time runs on through the seams: pass k of a performance of length L covers [k·L, (k+1)·L). It is computed by
multiplication, never by adding up, so that the thousandth pass lies as exactly as the first. Seconds are unknown here.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count
from math import inf
from typing import Literal

from earloop.performing.events import Event, Performance

Kind = Literal["stop", "seam", "end", "start", "lift"]
ORDER: dict[Kind, int] = {"stop": 0, "seam": 1, "end": 2, "start": 3, "lift": 4}
"""At one instant old soundings stop, then the seam passes, then new ones start. A `lift` is the stop of a legato
tone: it comes after the start of the tone it is bound to, as a player's finger does."""

SHORTEST_PASS = 1 / 64
"""In quarters. A shorter pass would be a buzz, and endless work for the loop."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One thing to do at `at` quarters of unrolled time. `voice` pairs a start with its stop; -1 for seam and end."""

    at: float
    kind: Kind
    voice: int = -1
    event: Event | None = None


def check(performance: Performance) -> None:
    """Raises ValueError with a sentence where a performance can't be looped."""
    if not performance.length >= SHORTEST_PASS:
        raise ValueError("there is nothing to play: the span has no length")
    if not performance.tempo > 0:
        raise ValueError(f"the tempo must be above 0 quarters a minute, not {performance.tempo}")
    last = 0.0
    for event in performance.events:
        if not (last <= event.onset < performance.length) or event.length < 0:
            raise ValueError(f"an event at quarter {event.onset} is out of order or outside its pass")
        last = event.onset


class Unrolling:
    """Walks through the passes. Successive slices neither lose nor repeat a moment.

    `start` is the place in the first pass, in quarters. With `counted` the count-in sounds before it, at
    [start - lead_in, start). `passes` is how many passes sound (None: without end); the last moment then is `end`.
    Soundings under way at `start` begin there, with what is left of them.
    """

    def __init__(
        self, performance: Performance, start: float = 0.0, counted: bool = False, passes: int | None = None
    ) -> None:
        check(performance)
        self.performance = performance
        self.length = performance.length
        self.passes = passes
        self.begin = start - performance.lead_in if counted else start
        self._voices = count()
        self._heap: list[tuple[float, int, int, Moment]] = []
        self._pass = 0
        self._index = 0
        self._ended = False
        for event in performance.count_in if counted else ():
            self._plan(self.begin + event.onset, event)
        for event in self.sounding_at(start):
            self._plan(start, replace(event, onset=start, length=event.onset + event.length - start))
        while self._index < len(performance.events) and performance.events[self._index].onset < start:
            self._index += 1
        self._push(Moment(self.length, "seam"))

    def peek(self) -> float | None:
        """When the next moment is, in unrolled quarters; None after the end."""
        if self._ended:
            return None
        at = self._next_start()
        if self._heap and (at is None or self._heap[0][0] <= at):
            return self._heap[0][0]
        return at

    @property
    def end(self) -> float:
        """Unrolled quarters at which the passes run out; infinite where they don't."""
        return inf if self.passes is None else self.passes * self.length

    def take(self) -> Moment:
        """The next moment. Raises IndexError after the end."""
        if self._ended:
            raise IndexError("the passes have ended")
        at = self._next_start()
        if at is None or (self._heap and self._heap[0][:2] <= (at, ORDER["start"])):
            return self._popped()
        return self._started(at)

    def slice(self, until: float) -> Iterator[Moment]:
        """The moments before `until` that have not been given yet, in order."""
        while (at := self.peek()) is not None and at < until:
            yield self.take()

    def go_on_for(self, passes: int | None, now: float) -> None:
        """Stop after `passes` more full passes, counted from the one that sounds at `now`; None: go on without end."""
        self.passes = None if passes is None else self.pass_at(now) + max(1, passes)

    def pass_at(self, at: float) -> int:
        """The pass (0-based) that unrolled time `at` lies in; the count-in belongs to the first."""
        return max(0, int(at // self.length))

    def place_at(self, at: float) -> float:
        """Quarters from the start of the pass; negative in a count-in before the start of the phrase."""
        return at if at < self.length else at - self.pass_at(at) * self.length

    def sounding_at(self, place: float) -> Iterator[Event]:
        """Events under way at a place in the pass (begun before it, not yet over)."""
        for event in self.performance.events:
            if event.onset >= place:
                return
            if event.onset + event.length > place:
                yield event

    def under_way(self) -> Iterator[tuple[int, Event]]:
        """Voices begun and not yet stopped, muted or not."""
        for _, _, voice, moment in self._heap:
            if moment.kind in ("stop", "lift") and moment.event is not None:
                yield voice, moment.event

    def _next_start(self) -> float | None:
        events = self.performance.events
        if not events:
            return None
        if self._index >= len(events):
            self._index = 0
            self._pass += 1
        return self._pass * self.length + events[self._index].onset

    def _started(self, at: float) -> Moment:
        event = self.performance.events[self._index]
        self._index += 1
        return self._begun(Moment(at, "start", next(self._voices), event))

    def _popped(self) -> Moment:
        moment = heapq.heappop(self._heap)[3]
        if moment.kind == "start":
            return self._begun(moment)
        if moment.kind == "seam":
            number = round(moment.at / self.length)
            if self.passes is not None and number >= self.passes:
                self._ended = True
                return Moment(moment.at, "end")
            self._push(Moment((number + 1) * self.length, "seam"))
        return moment

    def _begun(self, moment: Moment) -> Moment:
        """Also plans the stop that belongs to a start."""
        event = moment.event
        assert event is not None
        self._push(Moment(moment.at + event.length, "lift" if event.legato else "stop", moment.voice, event))
        return moment

    def _plan(self, at: float, event: Event) -> None:
        self._push(Moment(at, "start", next(self._voices), event))

    def _push(self, moment: Moment) -> None:
        heapq.heappush(self._heap, (moment.at, ORDER[moment.kind], moment.voice, moment))
