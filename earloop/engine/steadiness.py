"""What the engine asks of Python and the system so that nothing disturbs its moments. All of it may be refused."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import platform
import struct
import sys
from collections.abc import Callable

TIMER_SLACK = 29
"""Linux prctl option PR_SET_TIMERSLACK: by default the kernel may wake a sleeper 50 µs late."""

SLICE = 100_000
"""Nanoseconds. Linux 6.12 and later let a process ask for a short slice: it then is let in sooner when it wakes."""
SCHED_SETATTR = {"x86_64": 314, "aarch64": 274}
"""Number of the system call by machine; the C library has no name for it."""
ATTRIBUTES = struct.Struct("=IIQiIQQQ")
"""sched_attr: size, policy, flags, nice, priority, runtime, deadline, period."""

LOCK_CURRENT, LOCK_FUTURE, LOCK_ON_FAULT = 1, 2, 4
NICEST = -11
"""What sound programs usually ask for (common practice)."""


def steady() -> tuple[str, ...]:
    """Applies what is allowed and says what was. EARLOOP_UNSTEADY in the environment names what to leave out."""
    left_out = _left_out()
    sys.setswitchinterval(0.0005)
    done = []
    for name, (ask, words) in MEASURES.items():
        if name in left_out:
            continue
        with contextlib.suppress(OSError, AttributeError, ValueError, ImportError):
            if ask():
                done.append(words)
    return tuple(done)


def left_to_ask() -> bool:
    """Whether real-time priority wasn't allowed and may still be asked for (`asking` in EARLOOP_UNSTEADY: may not)."""
    if sys.platform != "linux" or "asking" in _left_out():
        return False
    return os.sched_getscheduler(0) & ~os.SCHED_RESET_ON_FORK == os.SCHED_OTHER


def tidy() -> None:
    """Collects by hand; called only while nothing sounds."""
    gc.collect()


def back_to_ordinary(thread: int = 0) -> None:
    """A thread's real-time priority given back; needs no right. That children don't inherit it stays (sched(7))."""
    if sys.platform == "linux":
        os.sched_setscheduler(thread, os.SCHED_OTHER | os.SCHED_RESET_ON_FORK, os.sched_param(0))


def _left_out() -> list[str]:
    return os.environ.get("EARLOOP_UNSTEADY", "").split(",")


def _no_collector() -> bool:
    gc.collect()
    gc.freeze()
    gc.disable()
    return True


def _no_slack() -> bool:
    return bool(sys.platform == "linux" and ctypes.CDLL(None).prctl(TIMER_SLACK, 1, 0, 0, 0) == 0)


def _short_slice() -> bool:
    """For a process that has no real-time priority; earlier kernels take the request and make nothing of it."""
    number = SCHED_SETATTR.get(platform.machine())
    if sys.platform != "linux" or number is None or os.sched_getscheduler(0) != os.SCHED_OTHER:
        return False
    wish = ATTRIBUTES.pack(ATTRIBUTES.size, os.SCHED_OTHER, 0, os.getpriority(os.PRIO_PROCESS, 0), 0, SLICE, 0, 0)
    return bool(ctypes.CDLL(None).syscall(number, 0, wish, 0) == 0)


def real_time_allowed() -> bool:
    """First come, first served among the real-time ones, at the lowest of their priorities."""
    import resource

    allowed = resource.getrlimit(resource.RLIMIT_RTPRIO)
    if allowed[1] > allowed[0]:
        resource.setrlimit(resource.RLIMIT_RTPRIO, (allowed[1], allowed[1]))
    os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(1))
    return True


def _nice() -> bool:
    """As far as the user's limit allows: RLIMIT_NICE is 20 less the nice value."""
    import resource

    most = resource.getrlimit(resource.RLIMIT_NICE)[1] if hasattr(resource, "RLIMIT_NICE") else 0
    floor = NICEST if os.geteuid() == 0 or most == resource.RLIM_INFINITY else max(NICEST, 20 - most)
    if floor >= os.getpriority(os.PRIO_PROCESS, 0):
        return False
    os.setpriority(os.PRIO_PROCESS, 0, floor)
    # Where the system weighs whole sessions, the engine's own session is meant too.
    with contextlib.suppress(OSError), open("/proc/self/autogroup", "w") as group:
        group.write(f"{floor}\n")
    return True


def _in_memory() -> bool:
    """Nothing is paged out. With a limit, a later request for memory could fail: then rather not."""
    import resource

    if resource.getrlimit(resource.RLIMIT_MEMLOCK)[0] != resource.RLIM_INFINITY:
        return False
    return bool(ctypes.CDLL(None).mlockall(LOCK_CURRENT | LOCK_FUTURE | LOCK_ON_FAULT) == 0)


MEASURES: dict[str, tuple[Callable[[], bool], str]] = {
    "collector": (_no_collector, "collector off"),
    "slack": (_no_slack, "timer slack 1 ns"),
    "priority": (real_time_allowed, "real-time priority"),
    "nice": (_nice, "higher priority"),
    "slice": (_short_slice, "short slice"),
    "memory": (_in_memory, "kept in memory"),
}
"""What is asked for, in this order: the short slice only where there is no real-time priority."""
