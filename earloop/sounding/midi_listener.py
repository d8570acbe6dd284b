"""A keyboard or a pedal: what is played is kept with its time, and chosen keys and controllers become wishes."""

from __future__ import annotations

import threading
import time
from collections import deque
from typing import Any

from earloop.sounding.midi_port import connect, match, port_names_of, watch_of
from earloop.sounding.midi_words import CONTROL, NOTE_OFF, NOTE_ON
from earloop.sounding.outputs import Control, Wish
from earloop.sounding.quiet import quiet_stderr
from earloop.sounding.server_watch import LEFT_BEHIND, ServerWatch

PRESSED = 64
"""A controller's value from which on a pedal counts as pressed (MIDI 1.0: 64 and above is on)."""

Note = tuple[float, int, int]
"""Monotonic second, key, velocity (0: released)."""


class MidiInput:
    """An open MIDI port whose messages go to `_received` whenever `fetch` is called. `name` is its full name.

    The messages are fetched. Were we called by the MIDI system, its thread would wait for the interpreter, and the
    interpreter, while it opens another client of a synchronous JACK server, waits for that very thread.
    """

    fetched_every = 0.002
    """Seconds between looks at what came: what is played is known so much later at most."""

    def __init__(self, port: str) -> None:
        self.port = port
        self.name = port
        self._in: Any = None
        self._watch: ServerWatch | None = None
        self._came: float | None = None
        self._looked = 0.0

    def open(self) -> None:
        """Raises OutputError where there is no such port."""
        self._in, self.name = connect("in", self.port)
        self._watch = watch_of(self._in)
        # What were ignored would count as the message before the next one nevertheless.
        self._in.ignore_types(sysex=False, timing=False, active_sense=False)
        self._came, self._looked = None, time.monotonic()

    def close(self) -> None:
        client, self._in = self._in, None
        if client is None:
            return
        if self.dead:
            LEFT_BEHIND.append(client)
        else:
            with quiet_stderr():
                client.close_port()
                client.delete()
        if self._watch is not None:
            self._watch.close()

    @property
    def dead(self) -> bool:
        """Whether the server of the port has died."""
        return self._watch is not None and self._watch.look()

    @property
    def lost(self) -> bool:
        """Whether the port has gone. Asks the system: now and then is enough."""
        return self.dead or (self._in is not None and match(self.name, port_names_of(self._in)) is None)

    def fetch(self) -> None:
        """Costs next to nothing where nothing came."""
        looked = time.monotonic()
        while self._in is not None and (message := self._in.get_message()) is not None:
            self._received(message[0], self._moment(message[1]))
            looked = time.monotonic()
        self._looked = looked

    def _moment(self, since: float) -> float:
        """When a message came that is `since` seconds after the one before: between the last look and this one."""
        now = time.monotonic()
        self._came = now if self._came is None else min(now, max(self._looked, self._came + since))
        return self._came

    def _received(self, words: list[int], moment: float) -> None:
        raise NotImplementedError


class FetchedInput(MidiInput):
    """Fetches in a thread of its own: for a process that keeps no time."""

    def __init__(self, port: str) -> None:
        super().__init__(port)
        self._closing = threading.Event()
        self._fetching: threading.Thread | None = None

    def open(self) -> None:
        super().open()
        self._closing.clear()
        self._fetching = threading.Thread(target=self._fetch_always, name="earloop MIDI input", daemon=True)
        self._fetching.start()

    def close(self) -> None:
        if self._fetching is not None:
            self._closing.set()
            self._fetching.join()
            self._fetching = None
        super().close()

    def _fetch_always(self) -> None:
        while not self._closing.wait(self.fetched_every):
            self.fetch()


class MidiListener(MidiInput):
    """Its wishes are taken by the engine, which fetches in its own loop: another thread would hold the interpreter at
    a lower priority just when a tone is due."""

    def __init__(self, port: str, controls: tuple[Control, ...]) -> None:
        super().__init__(port)
        self.heard = 0
        self.notes: deque[Note] = deque(maxlen=32)
        self._wishes: deque[Wish] = deque()
        self._meant = {(kind, number): wish for kind, number, wish in controls}
        self._down: set[int] = set()

    def taken(self) -> list[Wish]:
        """The wishes since the last call."""
        self.fetch()
        wishes = []
        while self._wishes:
            wishes.append(self._wishes.popleft())
        return wishes

    def _received(self, words: list[int], moment: float) -> None:
        kind = words[0] & 0xF0
        if len(words) != 3 or kind not in (NOTE_ON, NOTE_OFF, CONTROL):
            return
        if kind == CONTROL:
            self._pedal(words[1], words[2])
            return
        velocity = words[2] if kind == NOTE_ON else 0
        wish = self._meant.get(("key", words[1]))
        if wish is not None:
            if velocity:
                self._wishes.append(wish)
            return
        self.notes.append((moment, words[1], velocity))
        self.heard += bool(velocity)

    def _pedal(self, number: int, value: int) -> None:
        """One wish each time it goes down, however many values it sends on the way."""
        pressed = value >= PRESSED
        if pressed and number not in self._down and ("control", number) in self._meant:
            self._wishes.append(self._meant["control", number])
        (self._down.add if pressed else self._down.discard)(number)
