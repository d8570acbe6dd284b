"""The player: a performance, a place in it and a pace, sounded through a sounder. It owns no clock and no thread.

Whoever drives it calls `advance(until)`; the player then tells its sounder everything that is due before that second.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

from earloop.performing.events import Event, Performance, Strand
from earloop.transport.follower import Conductor, Follower
from earloop.transport.moments import Moment, Unrolling, check
from earloop.transport.pace import Pace, Ramp, within_range
from earloop.transport.places import line_place, same_place
from earloop.transport.sounder import Sounder
from earloop.transport.tuning import Tuning
from earloop.transport.voices import Voices

SOON = 0.02
"""Seconds after which the music goes on once a machine that slept has woken."""


class Player:
    """Plays, loops, seeks. Every method is cheap and leaves no sounding without its stop."""

    def __init__(self, sounder: Sounder) -> None:
        self.sounder = sounder
        self.voices = Voices(sounder)
        self.performance: Performance | None = None
        self.playing = False
        self.factor = 1.0
        self.ended = 0
        self._ramp: Ramp | None = None
        self._passes: int | None = None
        self._waiting: tuple[Performance, bool] | None = None
        self._place = 0.0
        self._passes_before = 0
        self._sources: deque[tuple[float, int]] = deque(maxlen=64)
        self._unrolling: Unrolling | None = None
        self._follower: Follower | None = None
        self._pace = Pace(0.0, 0.0, 1.0)

    # What the performer asks for

    def load(self, performance: Performance, when: str = "seam", keep_position: bool = True) -> None:
        """Plays `performance` from the next seam on, or now at the same place of the line."""
        check(performance)
        if self.playing and when == "seam":
            self._waiting = (performance, keep_position)
            return
        place = self.position() if self.performance else 0.0
        old, self.performance, self._waiting = self.performance, performance, None
        place = same_place(old, performance, place) if old and keep_position else 0.0
        if self.playing:
            self._begin(place, counted=False)
        else:
            self._place = place

    def play(self, counted: bool = True) -> None:
        if self.performance is None or self.playing:
            return
        self.playing = True
        self._passes_before = 0
        self._begin(self._place, counted and self.performance.lead_in > 0)

    def stop(self) -> None:
        """Silence; the place is kept."""
        if self.playing:
            self._place = max(0.0, self.position())
            self.playing = False
        self._hush()
        self._unrolling = None
        self._take_waiting()
        self.sounder.silence()

    def seek(self, quarters: float) -> None:
        """Goes on from `quarters` of the pass; held within it."""
        if self.performance is None:
            return
        place = min(max(0.0, quarters), self.performance.length - 1e-6)
        if self.playing:
            self._begin(place, counted=False)
        else:
            self._place = place

    def tempo(self, factor: float) -> None:
        """A factor of the performance's own tempo, effective at once; ends a ramp."""
        self._ramp = None
        self._set_factor(within_range(factor), self.sounder.now())

    def ramp(self, goal: float, step_per_pass: float) -> None:
        """Each further pass `step_per_pass` nearer to `goal`; a step of 0 or less ends the ramp."""
        self._ramp = Ramp(within_range(goal), step_per_pass) if step_per_pass > 0 else None

    def loops(self, passes: int | None) -> None:
        """Stops after so many passes from `play` on (from now on, if it plays); None: never."""
        self._passes = passes if passes is None else max(1, passes)
        if self._unrolling is not None:
            self._unrolling.go_on_for(self._passes, self._now_quarters())
            self._passes_before = self._unrolling.pass_at(self._now_quarters())

    def mute(self, strand: Strand, on: bool) -> None:
        self.voices.mute(strand, on, self._under_way())

    def alone(self, strand: Strand | None) -> None:
        """Only this strand sounds (and the count-in); None: all that aren't muted."""
        self.voices.alone(strand, self._under_way())

    def retune(self, tuning: Tuning | None = None, steps: int | None = None) -> None:
        """Another tuning or transposition (semitones), at once."""
        self.voices.retune(tuning, steps)

    # What a driver needs

    def due(self) -> float | None:
        """The second of the next moment; None where there is none."""
        at = self._next()
        return None if at is None else self._pace.seconds_at(at)

    def advance(self, until: float) -> None:
        """Sounds everything due before `until` seconds. A seam may change tempo or layer, so it goes step by step."""
        while self._unrolling is not None:
            at = self._next()
            if at is None or self._pace.seconds_at(at) >= until:
                return
            if self._follower is not None and self._follower.peek() <= at < self._unrolling.end:
                self._follower.take()
            else:
                self._do(self._unrolling.take())

    def went_on_late(self, now: float) -> None:
        """The machine slept: nothing is made up for; the music goes on now from where it was."""
        at = self._next()
        if at is not None:
            self._pace = Pace(now + SOON, at, self._pace.speed)

    def move_to(self, sounder: Sounder) -> None:
        """Goes on through another sounder, with its clock, from the same place."""
        place = self.position()
        self._hush()
        self.sounder.silence()
        self.sounder = self.voices.sounder = sounder
        if self.playing:
            self._begin(max(0.0, place), counted=False)

    # What a screen may show

    def position(self, seconds: float | None = None) -> float:
        """Performed quarters from the start of the pass; negative in a count-in."""
        if self._unrolling is None:
            return self._place
        now = self.sounder.now() if seconds is None else seconds
        return self._unrolling.place_at(max(self._unrolling.begin, self._pace.quarters_at(now)))

    def line_position(self, seconds: float | None = None) -> float:
        return 0.0 if self.performance is None else line_place(self.performance, self.position(seconds))

    def pass_number(self) -> int:
        """Passes begun since `play`, from 1; 0 while it doesn't play."""
        if self._unrolling is None:
            return 0
        return self._unrolling.pass_at(self._now_quarters()) - self._passes_before + 1

    def source(self, seconds: float | None = None) -> int | None:
        """Index in the line of the tone begun last by then; None before the first and after the end."""
        now = self.sounder.now() if seconds is None else seconds
        return next((source for begun, source in reversed(self._sources) if begun <= now), None)

    # Inside

    def _begin(self, place: float, counted: bool) -> None:
        assert self.performance is not None
        now = self.sounder.now()
        done = self.pass_number() - 1 if self._unrolling is not None else 0
        self._hush()
        self._unroll(place, counted, done, now)
        if isinstance(self.sounder, Conductor) and self.sounder.conducts:
            self._follower = Follower(self.sounder, place)

    def _unroll(self, place: float, counted: bool, done: int, seconds: float) -> None:
        """A new unrolling from `place` at `seconds`, `done` passes having been played since `play`."""
        assert self.performance is not None
        left = None if self._passes is None else max(1, self._passes - done)
        self._unrolling = Unrolling(self.performance, place, counted, left)
        self._passes_before = -done
        self._pace = Pace(seconds, self._unrolling.begin, self._speed())

    def _next(self) -> float | None:
        at = self._unrolling.peek() if self._unrolling is not None else None
        return at if at is None or self._follower is None else min(at, self._follower.peek())

    def _under_way(self) -> Iterator[tuple[int, Event]]:
        return iter(()) if self._unrolling is None else self._unrolling.under_way()

    def _do(self, moment: Moment) -> None:
        seconds = self._pace.seconds_at(moment.at)
        if moment.kind == "start" and moment.event is not None:
            if self.voices.start(moment.voice, moment.event, seconds) and moment.event.source is not None:
                self._sources.append((seconds, moment.event.source))
        elif moment.kind in ("stop", "lift"):
            self.voices.stop(moment.voice, seconds)
        elif moment.kind == "seam":
            self._pass_seam(moment.at, seconds)
        elif moment.kind == "end":
            self._finish(seconds)

    def _pass_seam(self, at: float, seconds: float) -> None:
        if self._ramp is not None:
            self.factor = self._ramp.after(self.factor)
            self._pace = Pace(seconds, at, self._speed())
        if self._waiting is not None:
            assert self._unrolling is not None
            done = self._unrolling.pass_at(at + 1e-9) - self._passes_before
            self._take_waiting()
            self.voices.end(seconds)
            self._unroll(0.0, False, done, seconds)
            self._follower = self._follower and self._follower.moved(at, 0.0)

    def _hush(self, seconds: float | None = None) -> None:
        """Stops every tone (now, if no second is given), and whoever follows."""
        self.voices.end(self.sounder.now() if seconds is None else seconds)
        self._sources.clear()
        if self._follower is not None:
            self._follower.end()
            self._follower = None

    def _finish(self, seconds: float) -> None:
        self._hush(seconds)
        self._unrolling = None
        self.playing = False
        self._place = 0.0
        self.ended += 1
        self._take_waiting()

    def _take_waiting(self) -> None:
        if self._waiting is not None:
            new, keep = self._waiting
            if self.performance is not None and keep:
                self._place = same_place(self.performance, new, self._place)
            self.performance, self._waiting = new, None

    def _set_factor(self, factor: float, seconds: float) -> None:
        self.factor = factor
        self._pace = self._pace.changed(seconds, self._speed())

    def _speed(self) -> float:
        return (self.performance.tempo if self.performance else 60.0) * self.factor / 60.0

    def _now_quarters(self) -> float:
        return self._pace.quarters_at(self.sounder.now())
