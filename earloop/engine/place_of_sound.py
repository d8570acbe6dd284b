"""Which sounder the engine plays through, what to do when it goes, and when it comes back."""

from __future__ import annotations

import contextlib
import os
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any, Protocol, runtime_checkable

from earloop.sounding.opening import opened
from earloop.sounding.outputs import HOW_TO_GET_SOUND, SILENT, Left, OutputChoice, OutputError
from earloop.sounding.silent import Silent
from earloop.transport.player import Player
from earloop.transport.sounder import Sounder
from earloop.transport.voices import keys_of

SLEPT = 1.5
"""Seconds between two looks after which this process must have been asleep, and a device with it."""
TRY_AGAIN = 3.0
"""Seconds between attempts to open what is missing."""


@runtime_checkable
class PulledSounder(Protocol):
    """A sounder whose device asks for sound in its own thread."""

    changed_at: float
    thread: int

    def pull(self, advance: Callable[[float], None], lock: Any) -> None: ...

    def heard(self) -> float: ...

    def change_waits(self) -> None: ...

    def was_asleep(self) -> None: ...


class PlaceOfSound:
    """Owns the player's sounder. `choice` is what the performer asked for, which may not be what is there just now.

    `before_opening` is called whenever something is about to be opened, which takes long, `after_opening` then.
    """

    def __init__(self) -> None:
        self.choice = SILENT
        self.notice = ""
        self.lock: Any = threading.Lock()
        self.before_opening: Callable[[], None] = lambda: None
        self.after_opening: Callable[[], None] = lambda: None
        self.player = Player(Silent())
        self._level = 0.5
        self._missing = False
        self._tried = 0.0
        self._looked = time.monotonic()

    @property
    def sounder(self) -> Sounder:
        return self.player.sounder

    @property
    def pulled(self) -> bool:
        """Whether the device asks for sound (a speaker) or this process keeps the time."""
        return isinstance(self.sounder, PulledSounder)

    @property
    def thread(self) -> int:
        """The thread that has to be in time, by its number in the system; 0 where nothing sounds."""
        if isinstance(self.sounder, PulledSounder):
            return self.sounder.thread
        return 0 if isinstance(self.sounder, Silent) else os.getpid()

    @property
    def sentence(self) -> str:
        name = self.sounder.name
        return name if name in ("silent", "speaker") else f"MIDI port {name}"

    def choose(self, choice: OutputChoice, left: Left = frozenset()) -> None:
        """Moves the sound. What can't be opened is said, and the next best plays until it can."""
        before, self.choice = self.choice, choice
        if not self._missing and _sounds_alike(before, choice) and not left:
            return
        self.notice = ""
        self._missing = False
        if choice.kind == "midi" and self.sounder.name == choice.port:
            # The port is opened anew with other settings: let go of it first.
            self._move(Silent())
        try:
            self._move(self._opened(choice, left))
            self.notice = getattr(self.sounder, "remark", "")
        except OutputError as error:
            self._fall_back(f"{error}")

    def level(self, level: float) -> None:
        self._level = level
        self.sounder.level(level)

    def heard(self) -> float:
        """The second on the sounder's clock that is heard now."""
        return self.sounder.heard() if isinstance(self.sounder, PulledSounder) else self.sounder.now()

    def change_waits(self) -> None:
        """Tells a sounder with blocks that a command was obeyed."""
        if isinstance(self.sounder, PulledSounder):
            self.sounder.change_waits()

    @property
    def changed_at(self) -> float:
        """When the last command took effect in a block; 0 where there are no blocks."""
        return self.sounder.changed_at if isinstance(self.sounder, PulledSounder) else 0.0

    @property
    def broken(self) -> bool:
        """Whether what sounds has died; unlike `look_around` this costs nothing."""
        return bool(getattr(self.sounder, "dead", False))

    def look_around(self) -> None:
        """Notices what has gone and what has come back. Takes a moment: call it when nothing is due."""
        now, before = time.monotonic(), self._looked
        self._looked = now
        if isinstance(self.sounder, PulledSounder) and now - before > SLEPT:
            self.sounder.was_asleep()
            return
        if getattr(self.sounder, "lost", False):
            self._fall_back(self._what_has_gone())
        elif self._missing and time.monotonic() - self._tried > TRY_AGAIN:
            self._tried = time.monotonic()
            with contextlib.suppress(OutputError):
                # What the lost connection left sounding is still there: end it first.
                self._move(self._opened(self.choice, self._left_behind()))
                self._missing = False
                self.notice = f"{self.sentence} is there again"

    def _left_behind(self) -> Left:
        """What this player may have left sounding where it no longer is."""
        performance = self.player.performance
        return frozenset() if performance is None else keys_of(performance, self.player.voices.steps)

    def close(self) -> None:
        """Silence, then close; never raises."""
        for step in (self.sounder.silence, self.sounder.close):
            with contextlib.suppress(Exception):
                step()

    def _what_has_gone(self) -> str:
        if self.broken:
            return f"the MIDI server of {self.sounder.name} has died"
        return "the sound device stopped" if self.pulled else f"the MIDI port {self.sounder.name} has gone"

    def _fall_back(self, why: str) -> None:
        """From a port to the speaker, from the speaker to silence, with one line that says so."""
        self._missing = True
        self._tried = time.monotonic()
        if self.choice.kind == "midi":
            with contextlib.suppress(OutputError):
                self._move(self._opened(OutputChoice("speaker", backend=self.choice.backend)))
                self.notice = f"{why}; the speaker sounds until it is there again"
                return
        self._move(Silent())
        advice = "" if HOW_TO_GET_SOUND in why else f"; {HOW_TO_GET_SOUND}"
        self.notice = f"earloop is silent: {why}{advice}"

    def _opened(self, choice: OutputChoice, left: Left = frozenset()) -> Sounder:
        self.before_opening()
        try:
            return opened(choice, self._level, left)
        finally:
            self.after_opening()

    def _move(self, sounder: Sounder) -> None:
        old = self.sounder
        with self.lock:
            self.player.move_to(sounder)
        if isinstance(sounder, PulledSounder):
            sounder.pull(self.player.advance, self.lock)
        with contextlib.suppress(Exception):
            old.close()


def _sounds_alike(one: OutputChoice, other: OutputChoice) -> bool:
    """Whether nothing has to be opened anew: what is listened to is another matter, and a speaker has no channels."""
    if other.kind == "midi":
        unheard = replace(one, listen=other.listen, controls=other.controls, low_latency=other.low_latency)
        return replace(unheard, soundfont=other.soundfont) == other
    heard = ("kind", "soundfont", "low_latency", "backend", *(("programs",) if other.soundfont else ()))
    return all(getattr(one, name) == getattr(other, name) for name in heard)
