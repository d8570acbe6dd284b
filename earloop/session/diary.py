"""The session's pen: notes go to the journal on a thread of their own, so that no key ever waits for a disk.

What can't be written is kept and tried again; a sentence says so, and the practising goes on.
"""

from __future__ import annotations

import queue
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from earloop.journal import Happening, Journal, JournalError, UnderWay

AGAIN = 5.0
"""Seconds until what could not be written is tried again."""
MOST_WAITING = 5000
"""So many unwritten notes are kept in memory; with a disk full for longer the oldest go."""


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A plan as a JSON object to be kept for a phrase; None forgets the one that is kept."""

    score: str
    phrase: int
    plan: dict[str, Any] | None


class Diary:
    """`note` at any time, from any thread. `notice` is a sentence where something is wrong, empty where all is well.

    Nothing is opened, and no file made, before the first note. Close it on leaving.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path
        self.notice = ""
        self._waiting: queue.SimpleQueue[Happening | UnderWay | KeptPlan | threading.Event] = queue.SimpleQueue()
        self._unwritten: list[Happening | UnderWay] = []
        self._plans: dict[tuple[str, int], KeptPlan] = {}
        self._journal: Journal | None = None
        self._thread: threading.Thread | None = None
        self._lock = threading.Lock()
        self._closed = threading.Event()

    def note(self, happening: Happening | UnderWay) -> None:
        """Keep it; returns at once and never raises. Nothing is taken any more once the diary is closed.

        What is under way takes the place of what was noted of it before.
        """
        self._put(happening)

    def keep_plan(self, score: str, phrase: int, plan: dict[str, Any] | None) -> None:
        """Keep a plan as the player has it now; returns at once and never raises."""
        self._put(KeptPlan(score, phrase, plan))

    def flush(self, patience: float = 1.0) -> bool:
        """Wait until everything noted so far is on the disk; whether that came about within so many seconds."""
        if self._thread is None or not self._thread.is_alive():
            return not self._left
        done = threading.Event()
        self._waiting.put(done)
        return done.wait(patience) and not self._left

    def close(self, patience: float = 1.0) -> None:
        """Write what is left and let go of the file. May be called twice; waits no longer than `patience` seconds."""
        if not self._closed.is_set():
            self._closed.set()
            self._waiting.put(threading.Event())
        if self._thread is not None:
            self._thread.join(patience)

    def _put(self, entry: Happening | UnderWay | KeptPlan) -> None:
        if not self._closed.is_set():
            self._waiting.put(entry)
            self._begin()

    def _begin(self) -> None:
        with self._lock:
            if self._thread is None:
                thread = threading.Thread(target=self._work, name="earloop diary", daemon=True)
                try:
                    thread.start()
                except RuntimeError as error:  # no more threads: the next note tries again
                    self.notice = f"What you do is not noted for now ({error}): close other programs."
                else:
                    self._thread = thread

    def _work(self) -> None:
        while True:
            reached = self._take()
            self._write()
            for event in reached:
                event.set()
            if self._closed.is_set() and self._waiting.empty():
                break
        if self._journal is not None:
            self._journal.close()

    @property
    def _left(self) -> bool:
        return bool(self._unwritten or self._plans)

    def _take(self) -> list[threading.Event]:
        """Move what waits to the unwritten notes; waits for something, or for the time to try again."""
        reached: list[threading.Event] = []
        try:
            entry = self._waiting.get(timeout=AGAIN if self._left else None)
            while True:
                if isinstance(entry, threading.Event):
                    reached.append(entry)
                elif isinstance(entry, KeptPlan):
                    self._plans[entry.score, entry.phrase] = entry
                else:
                    self._add(entry)
                entry = self._waiting.get_nowait()
        except queue.Empty:
            return reached

    def _add(self, entry: Happening | UnderWay) -> None:
        """To the unwritten ones; of what is under way only the newest waits."""
        if isinstance(entry, UnderWay):
            token = entry.token
            self._unwritten = [one for one in self._unwritten if not (isinstance(one, UnderWay) and one.token == token)]
        self._unwritten.append(entry)

    def _write(self) -> None:
        if not self._left:
            return
        try:
            if self._journal is None:
                self._journal = Journal.open(self.path)
            while self._plans:
                key, kept = next(iter(self._plans.items()))
                self._journal.keep_plan(kept.score, kept.phrase, kept.plan)
                del self._plans[key]
            self._journal.note_all(self._unwritten)
            self._unwritten.clear()
            self.notice = ""
        except JournalError as error:
            self._give_up_for_now(f"What you do is not noted for now: {error}.")
        except Exception as error:  # an unsound note is a fault of ours; the others are kept
            self._one_by_one(error)

    def _one_by_one(self, error: Exception) -> None:
        self.notice = f"Something was not noted ({error})."
        for happening in tuple(self._unwritten):
            if self._journal is None:
                return self._give_up_for_now(f"What you do is not noted for now ({error}).")
            try:
                self._journal.note(happening)
            except JournalError as problem:
                return self._give_up_for_now(f"What you do is not noted for now: {problem}.")
            except Exception as problem:
                self.notice = f"Something was not noted ({problem})."
            self._unwritten.remove(happening)

    def _give_up_for_now(self, sentence: str) -> None:
        self.notice = sentence
        del self._unwritten[:-MOST_WAITING]
        if self._journal is not None:
            self._journal.close()
            self._journal = None
