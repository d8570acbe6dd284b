"""How late each moment was, and what the engine itself was doing shortly before: so that the worst ones can be told."""

from __future__ import annotations

import array
import contextlib
import os
import time
from collections import deque
from collections.abc import Iterator

from earloop.engine.messages import Doing, Measure

REMEMBERED = 4096
LONG = 0.001
"""Seconds from which on something the engine does is written down."""
MOST_DOINGS = 64


class Lateness:
    """The last moments, in rings that are never reallocated."""

    def __init__(self, steadied: tuple[str, ...] = ()) -> None:
        self.steadied = steadied
        self._due, self._woken, self._late = (array.array("d", bytes(8 * REMEMBERED)) for _ in range(3))
        self._count = 0
        self._doings: deque[Doing] = deque(maxlen=MOST_DOINGS)

    def note(self, due: float, woken: float, done: float) -> None:
        """A moment: when it was due, when the engine was awake for it, when its messages were handed over."""
        place = self._count % REMEMBERED
        self._due[place], self._woken[place], self._late[place] = due, woken - due, done - due
        self._count += 1

    @contextlib.contextmanager
    def doing(self, name: str) -> Iterator[None]:
        """Writes down what took long."""
        begun = time.monotonic()
        try:
            yield
        finally:
            took = time.monotonic() - begun
            if took > LONG:
                self._doings.append((begun, took, name))

    def measure(self, given: tuple[str, ...] = ()) -> Measure:
        """All that is remembered, oldest first; it begins anew. `given` is what else steadies it by now."""
        count, self._count = self._count, 0
        order = [index % REMEMBERED for index in range(max(0, count - REMEMBERED), count)]
        late, due, woken = (tuple(ring[k] for k in order) for ring in (self._late, self._due, self._woken))
        doings = tuple(self._doings)
        self._doings.clear()
        return Measure(late, self.steadied + given, memory_in_use(), due, woken, doings)


def memory_in_use() -> int:
    """Resident memory in KiB; 0 where the system doesn't tell."""
    with contextlib.suppress(OSError, IndexError, ValueError), open("/proc/self/statm") as statm:
        return int(statm.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") // 1024
    return 0
