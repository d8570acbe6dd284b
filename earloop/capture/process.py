"""The listening process: takes the sound in, reports the pitch, answers what was sung between two moments.

A closed pipe means: close the microphone and leave. Nothing that was heard outlives the process unless it was asked
to be kept.
"""

from __future__ import annotations

import contextlib
import os
import signal
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from earloop.capture.ear import Ear
from earloop.capture.messages import Report
from earloop.sounding.child import reports_alone

TURN = 0.008
"""Seconds between looks at what has arrived."""
REPORTS = 1 / 15
"""Seconds between reports at the most, also when nothing was heard."""
LOOK_AROUND = 0.5
LATE = 1.0
"""Seconds that an answer waits for the last of its sound."""


class CaptureProcess:
    """Reads commands from one connection and writes reports to another."""

    def __init__(self, commands: Connection, reports: Connection) -> None:
        self.commands, self.reports = commands, reports
        self.ear = Ear()
        self._lock = threading.Lock()
        self._asked: list[tuple[float, Callable[[], Any]]] = []
        self._handled = 0
        self._last_report = self._last_look = 0.0

    def run(self) -> None:
        """Until the pipe closes."""
        try:
            while True:
                self._turn()
        except (EOFError, OSError):
            pass
        finally:
            self.ear.close()

    def _turn(self) -> None:
        if self.commands.poll(TURN):
            name, values = self.commands.recv()
            self._obey(name, values)
        frames = self.ear.take_in()
        now = time.monotonic()
        if frames or now - self._last_report >= REPORTS:
            self._last_report = now
            ear = self.ear
            self._tell(Report(tuple(frames), ear.sentence, ear.notice, ear.until, self._handled))
        self._grant(now)
        if now - self._last_look > LOOK_AROUND:
            self._last_look = now
            self.ear.look_around()

    def _obey(self, name: str, values: tuple[Any, ...]) -> None:
        self._handled += 1
        if name == "listen":
            self.ear.listen(*values)
        elif name == "again":
            self.ear.again()
        elif name == "answer":
            number, begin, end = values
            self._asked.append((end, lambda: self.ear.answer(number, begin, end)))
        elif name == "keep":
            path, begin, end = values
            self._asked.append((end, lambda: self.ear.keep(Path(path), begin, end)))

    def _grant(self, now: float) -> None:
        """What was asked for and has been heard to its end, in a thread: the trace goes on meanwhile."""
        ready = [ask for end, ask in self._asked if self.ear.until >= end or now > end + LATE]
        if not ready:
            return
        self._asked = [(end, ask) for end, ask in self._asked if ask not in ready]

        def work() -> None:
            for ask in ready:
                self._tell(ask())

        threading.Thread(target=work, name="earloop answers", daemon=True).start()

    def _tell(self, message: Any) -> None:
        with self._lock:
            self.reports.send(message)


def main() -> None:
    """Standard input brings commands, standard output takes reports; nobody else may write there."""
    reports = reports_alone()
    for name in ("SIGINT", "SIGHUP"):
        if hasattr(signal, name):
            # The screen's end closes the pipe; that is the one way to leave.
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    with contextlib.suppress(BrokenPipeError):
        CaptureProcess(Connection(0, writable=False), Connection(reports, readable=False)).run()
    os._exit(0)
