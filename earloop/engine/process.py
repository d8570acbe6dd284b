"""The playing process: one thread that reads commands, wakes for each moment and reports where it is.

With a MIDI port or in silence this loop keeps the time itself; on a speaker the device asks for sound and this loop
only serves commands. A closed pipe means: silence everything and leave.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import sys
import time
from typing import Any

from earloop.engine.messages import Snapshot, Unpacker, packed
from earloop.engine.place_of_sound import PlaceOfSound
from earloop.engine.steadiness import steady, tidy
from earloop.transport.clock import EARLY, SLEPT, wait_until
from earloop.transport.player import Player
from earloop.transport.tuning import Tuning

REPORTS = 1 / 15
"""Seconds between snapshots, at least."""
LOOK_AROUND = 0.5
"""Seconds between looks at whether ports and devices are still there."""


class Leave(BaseException):
    """The engine is asked to go: by a signal or a closed pipe."""


class EngineProcess:
    """Reads commands from one file descriptor and writes snapshots to another."""

    def __init__(self, commands: int, reports: int) -> None:
        self.commands, self.reports = commands, reports
        self.sound = PlaceOfSound()
        self.player = Player(self.sound.sounder)
        self.sound.player = self.player
        self._unpacker = Unpacker()
        self._handled = 0
        self._last_report = 0.0
        self._last_look = 0.0
        self._notice = ""

    def run(self) -> None:
        """Until asked to leave; whatever happens, nothing sounds afterwards."""
        for number in ("SIGTERM", "SIGINT", "SIGHUP"):
            if hasattr(signal, number):
                signal.signal(getattr(signal, number), _leave)
        try:
            while True:
                self._turn()
        except (Leave, KeyboardInterrupt, BrokenPipeError):
            pass
        finally:
            with contextlib.suppress(Exception):
                self.player.stop()
            self.sound.close()

    def _turn(self) -> None:
        """One round: wait for a command or for the next moment, whichever comes first."""
        now = time.monotonic()
        due = None if self.sound.pulled else self.player.due()
        until = min(self._last_report + REPORTS, now + REPORTS)
        if due is not None:
            until = min(until, due - EARLY)
        self._read(max(0.0, until - time.monotonic()))
        due = None if self.sound.pulled else self.player.due()
        now = time.monotonic()
        if due is not None and due - now <= EARLY * 1.5:
            self._sound_what_is_due(due)
        elif now - self._last_report >= REPORTS and (due is None or due - now > 2 * EARLY):
            self._report(now)
            self._look_around(now)

    def _sound_what_is_due(self, due: float) -> None:
        now = wait_until(due)
        if now - due > SLEPT:
            self.sound.sounder.silence()
            self.player.went_on_late(now)
        else:
            self.player.advance(due + 1e-9)

    def _read(self, patience: float) -> None:
        ready, _, _ = select.select([self.commands, self.sound.wake], [], [], patience)
        if self.sound.wake in ready:
            self.sound.drain_wake()
        if self.commands in ready:
            portion = os.read(self.commands, 1 << 16)
            if not portion:
                raise Leave
            for name, values in self._unpacker.feed(portion):
                self._obey(name, values)

    def _obey(self, name: str, values: tuple[Any, ...]) -> None:
        if name == "leave":
            raise Leave
        try:
            if name == "output":
                self.sound.choose(*values)
            else:
                with self.sound.lock:
                    getattr(self, f"_do_{name}")(*values)
            if not self.player.playing:
                tidy()
        except ValueError as error:
            self._notice = f"{error}"
        self._handled += 1
        self._last_report = min(self._last_report, time.monotonic() - REPORTS)

    def _do_load(self, performance: Any, when: str, keep_position: bool) -> None:
        self._notice = ""
        self.player.load(performance, when, keep_position)

    def _do_play(self, counted: bool = True) -> None:
        self.player.play(counted)

    def _do_stop(self) -> None:
        self.player.stop()

    def _do_seek(self, quarters: float) -> None:
        self.player.seek(quarters)

    def _do_tempo(self, factor: float) -> None:
        self.player.tempo(factor)

    def _do_ramp(self, goal: float, step: float) -> None:
        self.player.ramp(goal, step)

    def _do_level(self, level: float) -> None:
        self.sound.level(level)

    def _do_mute(self, strand: Any, on: bool) -> None:
        self.player.mute(strand, on)

    def _do_alone(self, strand: Any) -> None:
        self.player.alone(strand)

    def _do_loops(self, passes: int | None) -> None:
        self.player.loops(passes)

    def _do_tuning(self, a4: float, just_on: int | None) -> None:
        self.player.retune(tuning=Tuning(a4, just_on))

    def _do_transpose(self, steps: int) -> None:
        self.player.retune(steps=steps)

    def _look_around(self, now: float) -> None:
        if now - self._last_look >= LOOK_AROUND:
            self._last_look = now
            self.sound.look_around()

    def _report(self, now: float) -> None:
        self._last_report = now
        with self.sound.lock:
            heard = self.sound.heard()
            snapshot = Snapshot(
                playing=self.player.playing,
                pass_number=self.player.pass_number(),
                position=self.player.position(heard),
                line_position=self.player.line_position(heard),
                source=self.player.source,
                tempo=self.player.factor,
                ended=self.player.ended,
                output=self.sound.sentence,
                notice=self._notice or self.sound.notice,
                handled=self._handled,
            )
        # A screen that doesn't read must not hold up the music: what doesn't fit is left out.
        with contextlib.suppress(BlockingIOError):
            os.write(self.reports, packed(snapshot))


def _leave(signal_number: int, frame: Any) -> None:
    raise Leave


def main() -> None:
    """Standard input brings commands, standard output takes snapshots; nobody else may write there."""
    reports = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    sys.stdout = open(os.devnull, "w")  # noqa: SIM115 - lives as long as the process
    os.set_blocking(reports, False)
    process = EngineProcess(0, reports)
    steady()
    process.run()
