"""What the engine asks of Python and the system so that nothing disturbs its moments. All of it may be refused."""

from __future__ import annotations

import array
import contextlib
import ctypes
import gc
import os
import sys

from earloop.engine.messages import Measure

TIMER_SLACK = 29
"""Linux prctl option PR_SET_TIMERSLACK: by default the kernel may wake a sleeper 50 µs late."""

REMEMBERED = 4096


def steady() -> tuple[str, ...]:
    """Applies what is allowed and says what was. EARLOOP_UNSTEADY in the environment names what to leave out."""
    left_out = os.environ.get("EARLOOP_UNSTEADY", "").split(",")
    done = []
    if "collector" not in left_out:
        gc.collect()
        gc.freeze()
        gc.disable()
        done.append("collector off")
    sys.setswitchinterval(0.0005)
    if sys.platform == "linux" and "slack" not in left_out:
        with contextlib.suppress(OSError, AttributeError):
            if ctypes.CDLL(None).prctl(TIMER_SLACK, 1, 0, 0, 0) == 0:
                done.append("timer slack 1 ns")
    if "priority" not in left_out:
        with contextlib.suppress(OSError, AttributeError):
            os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(1))
            done.append("real-time priority")
    return tuple(done)


def tidy() -> None:
    """Collects by hand; called only while nothing sounds."""
    gc.collect()


class Lateness:
    """The last moments' lateness in seconds, in a ring that is never reallocated."""

    def __init__(self, steadied: tuple[str, ...] = ()) -> None:
        self.steadied = steadied
        self._ring = array.array("d", bytes(8 * REMEMBERED))
        self._count = 0

    def note(self, seconds: float) -> None:
        self._ring[self._count % REMEMBERED] = seconds
        self._count += 1

    def measure(self) -> Measure:
        """All that is remembered, oldest first; it begins anew."""
        count, self._count = self._count, 0
        start = max(0, count - REMEMBERED)
        values = tuple(self._ring[index % REMEMBERED] for index in range(start, count))
        return Measure(values, self.steadied, memory_in_use())


def memory_in_use() -> int:
    """Resident memory in KiB; 0 where the system doesn't tell."""
    with contextlib.suppress(OSError, IndexError, ValueError), open("/proc/self/statm") as statm:
        return int(statm.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") // 1024
    return 0
