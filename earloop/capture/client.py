"""The screen's side of the listening process: say what to listen to, read the trace, ask for answers.

Nothing here waits for the process but `answered`, which says so.
"""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import sys
import threading
import time
from bisect import bisect_left, bisect_right
from collections import deque
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from earloop.capture.messages import Answer, Frame, Kept, Report
from earloop.capture.sources import Source
from earloop.sounding.child import started

LISTENER = [sys.executable, "-m", "earloop.capture"]
TRACE = 12000
"""Frames remembered: four minutes at 50 a second."""
MOST_FALLS, FALL_TIME = 3, 20.0
"""So many restarts within that many seconds, and no further one is tried."""
DUMB = 5.0
"""Seconds without a report after which we say that the sound system does not answer."""
GOODBYE = 1.0


class Capture:
    """A listening process. Create it, `start` it with a source, `close` it; call the rest at any time between."""

    def __init__(self) -> None:
        self._source = Source("nothing")
        self._process: subprocess.Popen[bytes] | None = None
        self._commands: Connection | None = None
        self._lock = threading.Lock()
        self._closing = False
        self._report = Report()
        self._told_at = time.monotonic()
        self._trace: deque[Frame] = deque(maxlen=TRACE)
        self._answers: queue.SimpleQueue[Answer] = queue.SimpleQueue()
        self._kept: queue.SimpleQueue[Kept] = queue.SimpleQueue()
        self._numbers = 0
        self._falls: list[float] = []

    def start(self, source: Source) -> None:
        """Starts the process and listens; returns at once."""
        self._source = source
        with self._lock:
            if self._process is None and not self._closing:
                self._launch()
                return
        self.listen(source)

    def close(self) -> None:
        """The microphone is closed and the process leaves. May be called twice."""
        with self._lock:
            self._closing = True
            process, self._process = self._process, None
            commands, self._commands = self._commands, None
        if process is None:
            return
        with contextlib.suppress(OSError, ValueError):
            if commands is not None:
                commands.close()
        try:
            process.wait(GOODBYE)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    def listen(self, source: Source) -> None:
        """To another source; what was heard before is forgotten."""
        self._source = source
        self._trace.clear()
        self._send("listen", source)

    def again(self) -> None:
        """A recording begins anew; nothing changes for a microphone or a keyboard."""
        self._send("again")

    def answer(self, begin: float, end: float) -> int:
        """Ask what was sung between two monotonic seconds; the answer with the number given back comes when heard."""
        self._numbers += 1
        self._send("answer", self._numbers, begin, end)
        return self._numbers

    def keep(self, path: Path, begin: float, end: float) -> None:
        """Ask for that stretch as a file; `kept` says how it went."""
        self._send("keep", str(path), begin, end)

    def answers(self) -> list[Answer]:
        """Those that have come since the last call."""
        return _drained(self._answers)

    def answered(self, patience: float) -> Answer | None:
        """Waits for the next answer; None where none comes in so many seconds."""
        try:
            return self._answers.get(timeout=patience)
        except queue.Empty:
            return None

    def kept(self) -> list[Kept]:
        """What was kept, or not, since the last call."""
        return _drained(self._kept)

    def latest(self) -> Frame | None:
        """The newest frame."""
        with contextlib.suppress(IndexError):
            return self._trace[-1]
        return None

    def trace(self, begin: float, end: float | None = None) -> list[Frame]:
        """The frames from one moment to another, or to now."""
        frames = list(self._trace)
        first = bisect_left(frames, begin, key=lambda frame: frame.moment)
        last = len(frames) if end is None else bisect_right(frames, end, key=lambda frame: frame.moment)
        return frames[first:last]

    def report(self) -> Report:
        """What is listened to and what is wrong with it. Costs nothing."""
        if self._process is not None and time.monotonic() - self._told_at > DUMB:
            return replace(self._report, notice="the sound system does not answer: choose another input")
        return self._report

    @property
    def process_number(self) -> int | None:
        """The process id of the listener, None while there is none."""
        return self._process.pid if self._process is not None else None

    def __enter__(self) -> Capture:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def _send(self, name: str, *values: Any) -> None:
        with self._lock, contextlib.suppress(OSError, ValueError):
            if self._commands is not None:
                self._commands.send((name, values))

    def _launch(self) -> None:
        process = started(LISTENER)
        assert process.stdin is not None
        assert process.stdout is not None
        self._process = process
        self._commands = Connection(os.dup(process.stdin.fileno()), readable=False)
        reports = Connection(os.dup(process.stdout.fileno()), writable=False)
        process.stdin.close()
        process.stdout.close()
        self._told_at = time.monotonic()
        with contextlib.suppress(OSError):
            self._commands.send(("listen", (self._source,)))
        threading.Thread(target=self._watch, args=(process, reports), name="earloop hearing", daemon=True).start()

    def _watch(self, process: subprocess.Popen[bytes], reports: Connection) -> None:
        """Takes reports until the pipe closes; if nobody asked for that, the process has fallen."""
        with contextlib.suppress(EOFError, OSError):
            while True:
                self._take(reports.recv())
        reports.close()
        process.wait()
        with self._lock:
            if not self._closing:
                self._set_up_again()

    def _take(self, message: Report | Answer | Kept) -> None:
        self._told_at = time.monotonic()
        if isinstance(message, Answer):
            self._answers.put(message)
        elif isinstance(message, Kept):
            self._kept.put(message)
        else:
            self._trace.extend(message.frames)
            self._report = message

    def _set_up_again(self) -> None:
        now = time.monotonic()
        self._falls = [*(moment for moment in self._falls if moment > now - FALL_TIME), now]
        if len(self._falls) > MOST_FALLS:
            self._process = self._commands = None
            notice = "the listening process falls again and again: choose another input, or restart earloop"
            self._report = replace(self._report, notice=notice)
            return
        self._launch()


def _drained(waiting: queue.SimpleQueue[Any]) -> list[Any]:
    out = []
    with contextlib.suppress(queue.Empty):
        while True:
            out.append(waiting.get_nowait())
    return out
