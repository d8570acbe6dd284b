"""A real MIDI port that writes down what arrives, and knows which notes still sound."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

NOTE_OFF, NOTE_ON, CONTROL = 0x80, 0x90, 0xB0


FETCHED_EVERY = 0.002
"""Seconds."""
QUEUED = 1 << 16
"""Messages that may wait to be fetched."""


class ListeningPort:
    """Receives on a virtual JACK port called `name`. `got` holds (monotonic second, message) in order of arrival.

    Messages are fetched by a thread of our own: a callback would make the server's thread wait for the interpreter,
    and the interpreter, while it opens another client of a synchronous server, waits for that very thread.
    """

    def __init__(self, name: str) -> None:
        import rtmidi

        self.name = name
        self.got: list[tuple[float, list[int]]] = []
        self._lock = threading.Lock()
        self._in: Any = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name=name, queue_size_limit=QUEUED)
        self._in.ignore_types(sysex=False, timing=False, active_sense=False)
        self._in.open_virtual_port("in")
        self._at: float | None = None
        self._closing = threading.Event()
        self._fetching = threading.Thread(target=self._fetch_always, daemon=True)
        self._fetching.start()

    def __enter__(self) -> ListeningPort:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        if self._in is not None:
            self._closing.set()
            self._fetching.join()
            self._fetch()
            self._in.close_port()
            self._in.delete()
            self._in = None

    def _fetch_always(self) -> None:
        while not self._closing.wait(FETCHED_EVERY):
            self._fetch()

    def _fetch(self) -> None:
        """The first message's time is when it is fetched; the server tells how long after it each other came."""
        with self._lock:
            while (message := self._in.get_message()) is not None:
                words, since = message
                self._at = time.monotonic() if self._at is None else self._at + since
                self.got.append((self._at, words))

    def messages(self) -> list[tuple[float, list[int]]]:
        with self._lock:
            return list(self.got)

    def forget_all_but(self, count: int) -> None:
        """Keeps the last ones, so that a long test's own memory stays small."""
        with self._lock:
            del self.got[:-count]

    def note_ons(self) -> list[tuple[float, int, int]]:
        """(second, channel, key)"""
        return [(at, words[0] & 15, words[1]) for at, words in self.messages() if is_on(words)]

    def hanging(self) -> set[tuple[int, int]]:
        """(channel, key) of every note that no note off of its own has ended; controllers don't count."""
        return hanging_in([words for _, words in self.messages()])

    def wait(self, holds: Callable[[ListeningPort], bool], patience: float = 8.0) -> bool:
        """Whether `holds` comes true in time."""
        return wait_for(lambda: holds(self), patience)


def hanging_in(messages: list[list[int]]) -> set[tuple[int, int]]:
    """(channel, key) of every note that no note off of its own has ended."""
    sounding: set[tuple[int, int]] = set()
    for words in messages:
        if is_on(words):
            sounding.add((words[0] & 15, words[1]))
        elif words[0] & 0xF0 in (NOTE_OFF, NOTE_ON):
            sounding.discard((words[0] & 15, words[1]))
    return sounding


def is_on(words: list[int]) -> bool:
    """A note on; with velocity 0 it is a note off (MIDI 1.0)."""
    return words[0] & 0xF0 == NOTE_ON and words[2] > 0


def wait_for(holds: Callable[[], bool], patience: float = 8.0) -> bool:
    """Whether `holds` comes true within `patience` seconds."""
    until = time.monotonic() + patience
    while time.monotonic() < until:
        if holds():
            return True
        time.sleep(0.01)
    return holds()
