"""When the worst onsets came, and what went on just then: in the engine, on the screen, in the machine below."""

from __future__ import annotations

import contextlib
import os
import threading
import time
from collections.abc import Iterator

import numpy as np

from earloop.engine.messages import Measure

SHOWN = 5
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
