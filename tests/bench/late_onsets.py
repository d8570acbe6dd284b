"""When the worst onsets came, and what went on just then: in the engine, on the screen, in the machine below."""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from earloop.engine.messages import Measure
from earloop.engine.steadiness import steady

SHOWN = 5
NAP = 0.001
"""Seconds that a bare sleeper asks for, again and again."""
OVERSLEPT = 0.001
"""Seconds beyond it from which on it writes down its sleep."""
NEAR = 0.03
"""Seconds around an onset in which something counts as its company."""


class Stolen:
    """Seconds that the machine below took from this one, and that ran other processes, by the clock of the engine."""

    def __init__(self) -> None:
        self.rows: list[tuple[float, float]] = []
        self._on = True

    def watch(self) -> None:
        tick = os.sysconf("SC_CLK_TCK")
        while self._on:
            with contextlib.suppress(OSError, IndexError), open("/proc/stat") as stat:
                self.rows.append((time.monotonic(), int(stat.readline().split()[8]) / tick))
            time.sleep(0.05)

    def __enter__(self) -> Stolen:
        threading.Thread(target=self.watch, daemon=True).start()
        return self

    def __exit__(self, *error: object) -> None:
        self._on = False

    def near(self, second: float) -> float:
        """What was stolen within a tenth of a second of `second`."""
        inside = [stolen for at, stolen in self.rows if second - 0.1 < at < second + 0.15]
        return inside[-1] - inside[0] if inside else 0.0


class Sleepers:
    """A bare sleeper for each processor, above the engine's priority: it does nothing but sleep for a millisecond.

    Nothing in this project can hold it up. Where it oversleeps, the machine did: the host took a processor away, or the
    kernel was busy in a stretch that it does not leave. Without the right to real-time priority there are no sleepers.
    """

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory()
        self._children: list[subprocess.Popen[bytes]] = []

    def __enter__(self) -> Sleepers:
        for processor in sorted(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else ():
            words = [
                sys.executable,
                "-m",
                "tests.bench.late_onsets",
                str(processor),
                f"{self._folder.name}/{processor}",
            ]
            self._children.append(subprocess.Popen(words, cwd=Path(__file__).parents[2]))
        return self

    def __exit__(self, *error: object) -> None:
        for child in self._children:
            child.kill()
            child.wait()
        self._folder.cleanup()

    def overslept(self, begin: float, end: float) -> float:
        """The longest that one of them overslept between two seconds of the engine's clock."""
        longest = 0.0
        for path in Path(self._folder.name).iterdir():
            for line in path.read_text().splitlines():
                asleep, awake = map(float, line.split())
                if asleep < end and awake > begin:
                    longest = max(longest, awake - asleep - NAP)
        return longest


def _sleep_on(processor: int, path: str) -> None:
    """For ever; a line for each sleep that was too long."""
    steady()
    os.sched_setaffinity(0, {processor})
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(2))
    except PermissionError:
        return
    with open(path, "w", buffering=1) as lines:
        while True:
            asleep = time.monotonic()
            time.sleep(NAP)
            awake = time.monotonic()
            if awake - asleep > NAP + OVERSLEPT:
                lines.write(f"{asleep} {awake}\n")


def company(measured: Measure, redraws: list[tuple[float, float]], stolen: Stolen, a_pass: int) -> Iterator[str]:
    """A line for each of the worst moments. Each note has a start and its stop: they are one moment here."""
    late = np.array(measured.lateness)
    for k in np.argsort(-late)[:SHOWN]:
        due = measured.due[k]
        drawn = [end - begin for begin, end in redraws if begin - 0.001 < due + late[k] and end > due - 0.001]
        own = [f"{name} {took * 1000:.1f} ms" for at, took, name in measured.doings if -NEAR < at - due < late[k]]
        words = [
            "at a seam" if k % a_pass == 0 else "",
            f"awake {measured.woken[k] * 1000:.2f} ms late",
            f"during a redraw of {max(drawn) * 1000:.0f} ms" if drawn else "no redraw",
            f"after {', '.join(own)}" if own else "the engine did nothing else",
            f"{stolen.near(due) * 1000:.0f} ms stolen by the machine below",
        ]
        second = due - measured.due[0]
        yield f"    moment {k} at {second:.2f} s: {late[k] * 1000:.3f} ms; {'; '.join(filter(None, words))}"


if __name__ == "__main__":
    _sleep_on(int(sys.argv[1]), sys.argv[2])
