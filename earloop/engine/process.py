"""The playing process: one thread that reads commands, wakes for each moment and reports where it is.

With a MIDI port or in silence this loop keeps the time itself; on a speaker the device asks for sound and this loop
only serves commands. A closed pipe means: silence everything and leave.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import time
from typing import Any

from earloop.engine.lateness import Lateness
from earloop.engine.listening import Listening
from earloop.engine.messages import Gathered, Snapshot, Unpacker, packed
from earloop.engine.obeying import obey
from earloop.engine.place_of_sound import PlaceOfSound
from earloop.engine.steadiness import left_to_ask, steady, tidy
from earloop.engine.urgency import Urgency
from earloop.sounding.child import reports_alone
from earloop.sounding.outputs import Wish
from earloop.transport.clock import EARLY, MAKING, SLEPT, wait_until

REPORTS = 1 / 15
"""Seconds between snapshots, at least."""
LOOK_AROUND = 0.5
"""Seconds between looks at whether ports and devices are still there."""
QUIET_MOMENT = 0.03
"""Seconds until the next moment that a look around needs."""
PATIENCE = 5.0
"""Seconds after which a look around no longer waits for a quiet moment."""


class Leave(BaseException):
    """The engine is asked to go: by a signal or a closed pipe. No `except Exception` may swallow it."""


class EngineProcess:
    """Reads commands from one file descriptor and writes reports to another.

    `steadied` are the words for what it has been given already; `asks`: whether priority is still to be asked for.
    """

    def __init__(self, commands: int, reports: int, steadied: tuple[str, ...] = (), asks: bool = False) -> None:
        self.commands, self.reports = commands, reports
        self.sound = PlaceOfSound()
        self.player = self.sound.player
        self.listening = Listening()
        self.lateness = Lateness(steadied)
        self.urgency = Urgency(asks, self.listening.wake_end)
        self.sound.before_opening, self.sound.after_opening = self.urgency.at_ease, self.urgency.at_work
        self.notice = ""
        self._unpacker = Unpacker()
        self._gathered = Gathered()
        self._untold = b""
        self._handled = 0
        self._next_asked = 0
        self._changed_at = 0.0
        self._last_report = 0.0
        self._last_look = 0.0

    def run(self) -> None:
        """Until asked to leave; whatever happens, nothing sounds afterwards."""
        _on_signals(_leave)
        if hasattr(signal, "SIGTSTP"):
            signal.signal(signal.SIGTSTP, self._pause)
        try:
            while True:
                self._turn()
        except (Leave, KeyboardInterrupt, BrokenPipeError):
            pass
        finally:
            _on_signals(signal.SIG_IGN)
            with contextlib.suppress(Exception):
                self.player.stop()
            self.sound.close()
            self.listening.close()

    def _turn(self) -> None:
        """One round: wait for a command or for the next moment, whichever comes first."""
        if self.sound.broken:
            self.sound.look_around()
        now = time.monotonic()
        due = self._due()
        until = min(self._last_report + REPORTS, now + REPORTS)
        if due is not None:
            until = min(until, due - EARLY)
        self._read(0.0 if self._unpacker.waits else max(0.0, until - now))
        due = self._due()
        now = time.monotonic()
        if due is not None and due - now <= EARLY * 1.5:
            self._sound_what_is_due(due)
        elif self._unpacker.waits:
            # One at a time, so that no crowd of commands comes between a moment and its sound.
            with self.lateness.doing("obeying"):
                self._obey(*self._unpacker.take())
            self.urgency.rest()
        elif now - self._last_report >= REPORTS and (due is None or due - now > 2 * EARLY):
            with self.lateness.doing("reporting"):
                self._report(now)
            with self.lateness.doing("looking around"):
                self._look_around(now, due)

    def _due(self) -> float | None:
        return None if self.sound.pulled else self.player.due()

    def _sound_what_is_due(self, due: float) -> None:
        now = wait_until(due - MAKING, time.monotonic)
        if now - due > SLEPT:
            self.sound.sounder.silence()
            self.player.went_on_late(now)
        else:
            self.player.advance(due + 1e-9)
            self.lateness.note(due, now, time.monotonic())

    def _read(self, patience: float) -> None:
        patience = min(patience, self.listening.often)
        ready, _, _ = select.select([self.commands, self.listening.wake], [], [], patience)
        if self.listening.wake in ready:
            self.listening.awake()
        for wish in self.listening.wishes():
            self._grant(wish)
        if self.commands in ready:
            portion = os.read(self.commands, 1 << 16)
            if not portion:
                raise Leave
            self._unpacker.add(portion)

    def _obey(self, name: str, values: tuple[Any, ...]) -> None:
        if name == "leave":
            raise Leave
        if name == "more":
            self._gathered.add(*values)
            return
        try:
            if name == "measure":
                self._tell(self.lateness.measure(self.urgency.words))
            elif name == "output":
                self.sound.choose(*values)
                self.listening.choose(values[0])
            elif name == "level":
                self.sound.level(*values)
            else:
                if name == "load":
                    values = (self._gathered.whole(values[0]), *values[1:])
                with self.sound.lock:
                    obey(self.player, name, values)
            self.notice = ""
        except ValueError as error:
            self.notice = f"{error}"
        if not self.player.playing:
            self.urgency.rest()
            tidy()
        self._handled += 1
        self._changed_at = time.monotonic()
        self.sound.change_waits()
        self._last_report = min(self._last_report, self._changed_at - REPORTS)

    def _grant(self, wish: Wish) -> None:
        """What a pedal or a key asks for. The next phrase is the session's to choose: it is only counted here."""
        with self.sound.lock:
            if wish == "next":
                self._next_asked += 1
            elif wish == "stop" or (wish == "toggle" and self.player.playing):
                self.player.stop()
            else:
                self.player.play()

    def _look_around(self, now: float, due: float | None) -> None:
        waited = now - self._last_look
        if waited >= LOOK_AROUND and (due is None or due - now > QUIET_MOMENT or waited > PATIENCE):
            self._last_look = now
            self.sound.look_around()
            self.listening.look_around()
            self.urgency.look_around(self.sound.thread)

    def _report(self, now: float) -> None:
        self._last_report = now
        sound = self.sound
        with sound.lock:
            heard, at = sound.heard(), time.monotonic()
            snapshot = Snapshot(
                playing=self.player.playing,
                pass_number=self.player.pass_number(),
                position=self.player.position(heard),
                line_position=self.player.line_position(heard),
                source=self.player.source(heard),
                tempo=self.player.factor,
                ended=self.player.ended,
                output=sound.sentence,
                notice=self.notice or sound.notice or self.listening.notice,
                next_asked=self._next_asked,
                heard=self.listening.heard,
                notes=self.listening.notes,
                handled=self._handled,
                handed_at=getattr(sound.sounder, "handed_at", 0.0),
                changed_at=sound.changed_at or self._changed_at,
                at=at,
            )
        self._tell(snapshot)

    def _tell(self, message: Any) -> None:
        """A screen that doesn't read must not hold up the music: what doesn't fit waits, and what comes then is
        left out."""
        with contextlib.suppress(BlockingIOError):
            if self._untold:
                self._untold = self._untold[os.write(self.reports, self._untold) :]
            if not self._untold:
                self._untold = packed(message)
                self._untold = self._untold[os.write(self.reports, self._untold) :]

    def _pause(self, number: int, frame: Any) -> None:
        """Stopped by job control: silence first, then sleep until continued."""
        if not self.sound.pulled:
            self.sound.sounder.silence()
            # The last messages are still in the system's queue, which sleeps along with this process.
            time.sleep(0.05)
        os.kill(os.getpid(), signal.SIGSTOP)


def _leave(number: int, frame: Any) -> None:
    raise Leave


def _on_signals(action: Any) -> None:
    for name in ("SIGTERM", "SIGINT", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), action)


def main() -> None:
    """Standard input brings commands, standard output takes reports; nobody else may write there."""
    reports = reports_alone()
    os.set_blocking(reports, False)
    steadied = steady()
    EngineProcess(0, reports, steadied, asks=left_to_ask()).run()
    # Nothing is left to be done, and a sound system that has died may not be asked to tidy up after itself.
    os._exit(0)
