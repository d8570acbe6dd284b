"""What the engine asks of Python and the system so that nothing disturbs its moments. All of it may be refused."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import sys

TIMER_SLACK = 29
"""Linux prctl option PR_SET_TIMERSLACK: by default the kernel may wake a sleeper 50 µs late."""


def steady() -> list[str]:
    """Applies what is allowed and says what was."""
    done = ["collector off"]
    gc.collect()
    gc.freeze()
    gc.disable()
    sys.setswitchinterval(0.0005)
    if sys.platform == "linux":
        with contextlib.suppress(OSError, AttributeError):
            if ctypes.CDLL(None).prctl(TIMER_SLACK, 1, 0, 0, 0) == 0:
                done.append("timer slack 1 ns")
    with contextlib.suppress(OSError, AttributeError):
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(1))
        done.append("real-time priority")
    return done


def tidy() -> None:
    """Collects by hand; called only while nothing sounds."""
    gc.collect()
