"""Priority for the one thread whose moments count, where the user's own limits give none: RealtimeKit is asked for it.

The asking has a thread of its own and begins in a quiet moment, so that no sound ever waits for it. What comes with
real-time priority is that the kernel ends a process that runs for too long without waiting (RLIMIT_RTTIME). So:

- Before the engine opens an output (libraries are loaded then), it goes back to ordinary priority by itself. So it
  does with real-time priority that limits allow: it would hold up another player of the same priority.
- A signal (SIGXCPU) comes after a quarter of the time allowed; its answer is ordinary priority, at once.
- Between commands that come in a crowd it waits for some microseconds: the kernel then counts from zero.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time
from typing import Any

from earloop.engine.realtime_kit import NotGiven, RealtimeKit
from earloop.engine.steadiness import NICEST, back_to_ordinary, real_time_allowed

REAL_TIME, HIGHER = "real-time priority from RealtimeKit", "higher priority from RealtimeKit"
LOWEST = 1
"""The lowest of the real-time priorities: never above a sound server's."""
SHARE_UNTIL_SIGNAL = 4
LEAST = 20_000
"""Microseconds. With less than this time allowed, real-time priority would be a danger."""
AGAIN = 10.0
"""Seconds until it is asked again, where it gave nothing or what it gave had to be given back."""
TRIES = 2
"""So often without anything given, and nobody is asked any more."""
NAP = 0.00001


class Urgency:
    """Made in the main thread. `wake` is a descriptor that ends that thread's waiting when a signal comes elsewhere."""

    def __init__(self, wanted: bool, wake: int | None = None) -> None:
        self._tries = TRIES if wanted and sys.platform == "linux" else 0
        self._thread = 0
        self._given: dict[int, str] = {}
        self._asking = False
        self._asked: tuple[int, float] = (0, 0.0)
        self._eased = 0
        self._by_limits = sys.platform == "linux" and os.sched_getscheduler(0) == os.SCHED_FIFO
        if self._tries:
            signal.signal(signal.SIGXCPU, self._ran_too_long)
            if wake is not None:
                signal.set_wakeup_fd(wake, warn_on_full_buffer=False)

    @property
    def words(self) -> tuple[str, ...]:
        """What the thread that counts was given."""
        given = self._given.get(self._thread)
        return (given,) if given else ()

    def look_around(self, thread: int) -> None:
        """`thread` is the one that counts now, by its number in the system; 0: none. Returns at once."""
        self._thread = thread
        asked, when = self._asked
        if not self._tries or self._asking or not thread or thread in self._given:
            return
        if thread == asked and time.monotonic() - when < AGAIN:
            return
        self._asking, self._asked = True, (thread, time.monotonic())
        threading.Thread(target=self._ask, args=(thread, self._eased), name="earloop priority", daemon=True).start()

    def at_ease(self) -> None:
        """Something long is about to be done in the main thread."""
        self._eased += 1
        if self._by_limits or self._given.get(os.getpid()) == REAL_TIME:
            self._give_back(os.getpid())
        if self._asked[0] == os.getpid():
            self._asked = 0, 0.0

    def at_work(self) -> None:
        """It is done. What limits allow comes back at once, what is asked for in a quiet moment."""
        if self._by_limits:
            with contextlib.suppress(OSError):
                real_time_allowed()

    def rest(self) -> None:
        """The kernel counts anew how long the main thread has run."""
        if self._given.get(os.getpid()) == REAL_TIME:
            time.sleep(NAP)

    def _ask(self, thread: int, eased: int) -> None:
        """In its own thread. Whatever a bus or a service answers, or doesn't: the engine goes on as it is."""
        try:
            given = self._given[thread] = granted(thread)
            self._tries = TRIES
            if eased != self._eased and given == REAL_TIME:
                self._give_back(thread)
        except Exception:
            self._tries -= 1
        finally:
            self._asking = False

    def _ran_too_long(self, number: int, frame: Any) -> None:
        """Also where the answer to what was asked hasn't been taken in yet."""
        self._eased += 1
        self._give_back(*{self._asked[0], *(thread for thread, given in [*self._given.items()] if given == REAL_TIME)})

    def _give_back(self, *threads: int) -> None:
        for thread in threads:
            self._given.pop(thread, None)
            with contextlib.suppress(OSError):
                back_to_ordinary(thread)


def granted(thread: int) -> str:
    """REAL_TIME, HIGHER, or nothing where the thread has as much by itself. Raises as RealtimeKit does."""
    with contextlib.closing(RealtimeKit()) as kit:
        _limit(kit.longest())
        try:
            kit.real_time(thread, LOWEST)
        except NotGiven:
            nice = max(NICEST, kit.nicest())
            if nice >= os.getpriority(os.PRIO_PROCESS, thread):
                return ""
            kit.higher(thread, nice)
            return HIGHER
    return REAL_TIME


def _limit(longest: int) -> None:
    """In microseconds; has to stand before anything is given. After a share of it the signal comes, then the end."""
    import resource

    if longest < LEAST:
        raise NotGiven(f"{longest} microseconds are too few")
    already = resource.getrlimit(resource.RLIMIT_RTTIME)[1]
    most = longest if already == resource.RLIM_INFINITY else min(longest, already)
    resource.setrlimit(resource.RLIMIT_RTTIME, (most // SHARE_UNTIL_SIGNAL, most))
