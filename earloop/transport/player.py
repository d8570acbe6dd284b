"""The player: a performance, a place in it and a pace, sounded through a sounder. It owns no clock and no thread.

Whoever drives it calls `advance(until)`; the player then tells its sounder everything that is due before that second.
"""

from __future__ import annotations

from dataclasses import dataclass

from earloop.performing.events import STRANDS, Event, Performance, Strand
from earloop.transport.moments import Moment, Unrolling, check
from earloop.transport.pace import Pace, Ramp, within_range
from earloop.transport.places import line_place, same_place
from earloop.transport.sounder import Sounder
from earloop.transport.tuning import Tuning

LEAST_REST = 0.02
"""Seconds. After a seek or a layer change the next sound comes this soon at the latest moment of planning."""


@dataclass(slots=True)
class Voice:
    """One tone under way: the number its sounder gave it, and what it is."""

    number: int
    event: Event


class Player:
    """Plays, loops, seeks. Every method is cheap and leaves no sounding without its stop."""

    def __init__(self, sounder: Sounder) -> None:
        self.sounder = sounder
        self.performance: Performance | None = None
        self.playing = False
        self.factor = 1.0
        self.ramp_to: Ramp | None = None
        self.passes: int | None = None
        self.muted: set[Strand] = set()
        self.only: Strand | None = None
        self.tuning = Tuning()
        self.steps = 0
        self.source: int | None = None
        self.ended = 0
        self._waiting: tuple[Performance, bool] | None = None
        self._place = 0.0
        self._passes_before = 0
        self._unrolling: Unrolling | None = None
        self._pace = Pace(0.0, 0.0, 1.0)
        self._voices: dict[int, Voice] = {}

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
        self._unrolling = None
        self._take_waiting()
        self._end_voices(self.sounder.now())
        self.sounder.silence()
        self.source = None

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
        self.ramp_to = None
        self._set_factor(within_range(factor), self.sounder.now())

    def ramp(self, goal: float, step_per_pass: float) -> None:
        """Each further pass `step_per_pass` nearer to `goal`; a step of 0 or less ends the ramp."""
        self.ramp_to = Ramp(within_range(goal), step_per_pass) if step_per_pass > 0 else None

    def loops(self, passes: int | None) -> None:
        """Stops after so many passes from `play` on (from now on, if it plays); None: never."""
        self.passes = passes if passes is None else max(1, passes)
        if self._unrolling is not None:
            self._unrolling.go_on_for(self.passes, self._now_quarters())
            self._passes_before = self._unrolling.pass_at(self._now_quarters())

    def mute(self, strand: Strand, on: bool) -> None:
        before = self.audible()
        (self.muted.add if on else self.muted.discard)(strand)
        self._audible_changed(before)

    def alone(self, strand: Strand | None) -> None:
        """Only this strand sounds (and the count-in); None: all that aren't muted."""
        before = self.audible()
        self.only = strand
        self._audible_changed(before)

    def retune(self, tuning: Tuning | None = None, steps: int | None = None) -> None:
        """Another tuning or transposition (semitones); what sounds is sounded anew at once."""
        self.tuning = self.tuning if tuning is None else tuning
        self.steps = self.steps if steps is None else steps
        sounding = [voice.event for voice in self._voices.values()]
        at = self.sounder.now()
        for key, event in zip(list(self._voices), sounding, strict=True):
            self.sounder.stop(self._voices.pop(key).number, at)
            self._voices[key] = Voice(self._sound(event, at), event)

    # What a driver needs

    def due(self) -> float | None:
        """The second of the next moment; None where there is none."""
        at = self._unrolling.peek() if self._unrolling is not None else None
        return None if at is None else self._pace.seconds_at(at)

    def advance(self, until: float) -> None:
        """Sounds everything due before `until` seconds. A seam may change tempo or layer, so it goes step by step."""
        while self._unrolling is not None:
            at = self._unrolling.peek()
            if at is None or self._pace.seconds_at(at) >= until:
                return
            for moment in self._unrolling.slice(at + 1e-12):
                self._do(moment)
                if moment.kind in ("seam", "end"):
                    break

    def went_on_late(self, now: float) -> None:
        """The machine slept: nothing is made up for; the music goes on now from where it was."""
        at = self._unrolling.peek() if self._unrolling is not None else None
        if at is not None:
            self._pace = Pace(now + LEAST_REST, at, self._pace.speed)

    def move_to(self, sounder: Sounder) -> None:
        """Goes on through another sounder, with its clock, from the same place."""
        place, playing = self.position(), self.playing
        self._end_voices(self.sounder.now())
        self.sounder.silence()
        self.sounder = sounder
        if playing:
            self._begin(place, counted=False)

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

    def audible(self) -> set[Strand]:
        """The strands that may sound."""
        if self.only is not None:
            return {self.only, "count"}
        return {strand for strand in STRANDS if strand not in self.muted}

    # Inside

    def _begin(self, place: float, counted: bool) -> None:
        assert self.performance is not None
        now = self.sounder.now()
        done = self.pass_number() - 1 if self._unrolling is not None else 0
        left = None if self.passes is None else max(1, self.passes - done)
        self._end_voices(now)
        self._unrolling = Unrolling(self.performance, place, counted, left)
        self._passes_before = -done
        self._pace = Pace(now, self._unrolling.begin, self._speed())

    def _do(self, moment: Moment) -> None:
        seconds = self._pace.seconds_at(moment.at)
        if moment.kind == "start" and moment.event is not None:
            if moment.event.strand in self.audible():
                self._voices[moment.voice] = Voice(self._sound(moment.event, seconds), moment.event)
                if moment.event.source is not None:
                    self.source = moment.event.source
        elif moment.kind in ("stop", "lift"):
            voice = self._voices.pop(moment.voice, None)
            if voice is not None:
                self.sounder.stop(voice.number, seconds)
        elif moment.kind == "seam":
            self._pass_seam(moment.at, seconds)
        elif moment.kind == "end":
            self._finish(seconds)

    def _pass_seam(self, at: float, seconds: float) -> None:
        if self.ramp_to is not None:
            self.factor = self.ramp_to.after(self.factor)
            self._pace = Pace(seconds, at, self._speed())
        if self._waiting is not None:
            assert self._unrolling is not None
            done = self._unrolling.pass_at(at + 1e-9) - self._passes_before
            left = None if self.passes is None else max(1, self.passes - done)
            self._take_waiting()
            assert self.performance is not None
            self._end_voices(seconds)
            self._unrolling = Unrolling(self.performance, 0.0, False, left)
            self._passes_before = -done
            self._pace = Pace(seconds, 0.0, self._speed())

    def _finish(self, seconds: float) -> None:
        self._end_voices(seconds)
        self._unrolling = None
        self.playing = False
        self.source = None
        self._place = 0.0
        self.ended += 1
        self._take_waiting()

    def _take_waiting(self) -> None:
        if self._waiting is not None:
            new, keep = self._waiting
            if self.performance is not None and keep:
                self._place = same_place(self.performance, new, self._place)
            self.performance, self._waiting = new, None

    def _sound(self, event: Event, seconds: float) -> int:
        midi = event.midi if event.strand == "count" else _within_keys(event.midi + self.steps)
        shifted = Tuning(self.tuning.a4, None if self.tuning.just_on is None else self.tuning.just_on + self.steps)
        cents = event.cents + (0.0 if event.strand == "count" else shifted.cents(midi))
        return self.sounder.start(midi, cents, event.loudness, event.strand, seconds, event.legato)

    def _end_voices(self, seconds: float) -> None:
        for voice in self._voices.values():
            self.sounder.stop(voice.number, seconds)
        self._voices.clear()

    def _audible_changed(self, before: set[Strand]) -> None:
        now, audible = self.sounder.now(), self.audible()
        for key in [key for key, voice in self._voices.items() if voice.event.strand not in audible]:
            self.sounder.stop(self._voices.pop(key).number, now)
        if self._unrolling is None:
            return
        for number, event in self._unrolling.under_way():
            if event.strand in audible - before and number not in self._voices:
                self._voices[number] = Voice(self._sound(event, now), event)

    def _set_factor(self, factor: float, seconds: float) -> None:
        self.factor = factor
        self._pace = self._pace.changed(seconds, self._speed())

    def _speed(self) -> float:
        return (self.performance.tempo if self.performance else 60.0) * self.factor / 60.0

    def _now_quarters(self) -> float:
        return self._pace.quarters_at(self.sounder.now())


def _within_keys(midi: int) -> int:
    """Folded by octaves into the MIDI keys 0 to 127."""
    while midi > 127:
        midi -= 12
    while midi < 0:
        midi += 12
    return midi
