"""Slow work off the task that answers keys: the newest wish is done, older ones not yet begun are dropped."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import Generic, TypeVar

Asked = TypeVar("Asked")
Found = TypeVar("Found")


class Newest(Generic[Asked, Found]):
    """Does `work` on a thread of its own, which is there only while there is something to do.

    It begins after `pause` seconds: Python computes one thread at a time, and the frame that answers a key goes first.
    """

    def __init__(self, work: Callable[[Asked], Found], name: str, pause: float = 0.0) -> None:
        self._work, self._name, self._pause = work, name, pause
        self._lock = threading.Condition()
        self._wish: tuple[Asked] | None = None
        self._busy = False
        self._found: deque[tuple[Asked, Found]] = deque()
        self._fault: Exception | None = None

    def ask(self, wish: Asked) -> None:
        """Do this next, in place of what waits. Returns at once."""
        with self._lock:
            self._wish = (wish,)
            if not self._busy:
                self._busy = True
                threading.Thread(target=self._run, name=self._name, daemon=True).start()

    def forget(self) -> None:
        """Nothing that was asked is wanted any more; what has begun is still finished."""
        with self._lock:
            self._wish = None

    def found(self) -> list[tuple[Asked, Found]]:
        """What was found since the last call, oldest first. Raises what the work raised."""
        with self._lock:
            fault, self._fault = self._fault, None
            if fault is not None:
                raise fault
            found = list(self._found)
            self._found.clear()
            return found

    def finish(self, patience: float | None = None) -> bool:
        """Wait until nothing is left to do, at most so many seconds; whether that was so."""
        until = None if patience is None else time.monotonic() + patience
        with self._lock:
            while self._busy:
                left = None if until is None else until - time.monotonic()
                if left is not None and left <= 0:
                    return False
                self._lock.wait(left)
        return True

    def _run(self) -> None:
        while True:
            time.sleep(self._pause)
            with self._lock:
                if self._wish is None:
                    self._busy = False
                    self._lock.notify_all()
                    return
                (wish,), self._wish = self._wish, None
            try:
                found = self._work(wish)
            except Exception as error:
                with self._lock:
                    self._fault = error
            else:
                with self._lock:
                    self._found.append((wish, found))
                    self._lock.notify_all()
