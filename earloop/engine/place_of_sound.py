"""Which sounder the engine plays through, what to do when it goes, and when it comes back."""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Protocol, runtime_checkable

from earloop.sounding.outputs import HOW_TO_GET_SOUND, SILENT, OutputChoice, OutputError
from earloop.sounding.silent import Silent
from earloop.transport.sounder import Sounder

if TYPE_CHECKING:
    from earloop.transport.player import Player


@runtime_checkable
class PulledSounder(Protocol):
    """A sounder whose device asks for sound in its own thread."""

    def pull(self, advance: Callable[[float], None], lock: Any) -> None: ...


class PlaceOfSound:
    """Owns the sounder in use. `choice` is what the performer asked for, which may not be what is there just now."""

    def __init__(self) -> None:
        self.choice = SILENT
        self.sounder: Sounder = Silent()
        self.player: Player | None = None
        self.notice = ""
        self.lock: Any = threading.Lock()
        self._level = 0.5
        self._present: bool = True
        self.wake, self._wake_end = os.pipe()
        os.set_blocking(self.wake, False)

    @property
    def pulled(self) -> bool:
        """Whether the device asks for sound (a speaker) or this process keeps the time."""
        return isinstance(self.sounder, PulledSounder)

    @property
    def sentence(self) -> str:
        return {"silent": "silent", "speaker": "speaker"}.get(self.sounder.name, f"MIDI port {self.sounder.name}")

    def choose(self, choice: OutputChoice, after_a_fall: bool = False) -> None:
        """Moves the sound. What can't be opened is said, and the next best plays."""
        self.choice = choice
        self.notice = ""
        try:
            sounder = opened(choice, self._level)
        except OutputError as error:
            self.notice = f"{error}"
            sounder = self._next_best(choice)
        if after_a_fall and hasattr(sounder, "end_what_others_left"):
            sounder.end_what_others_left()
        self._move(sounder)

    def level(self, level: float) -> None:
        self._level = level
        self.sounder.level(level)

    def heard(self) -> float:
        """The second on the sounder's clock that is heard now."""
        return self.sounder.heard() if hasattr(self.sounder, "heard") else self.sounder.now()

    def look_around(self) -> None:
        """Notices what has gone and what has come back."""
        if getattr(self.sounder, "lost", False):
            self._move(Silent())
            self.notice = f"the sound device stopped, so nothing sounds; {HOW_TO_GET_SOUND}"

    def drain_wake(self) -> None:
        with contextlib.suppress(BlockingIOError):
            os.read(self.wake, 4096)

    def close(self) -> None:
        """Silence, then close; never raises."""
        for step in (self.sounder.silence, self.sounder.close):
            with contextlib.suppress(Exception):
                step()

    def _next_best(self, choice: OutputChoice) -> Sounder:
        if choice.kind == "midi":
            with contextlib.suppress(OutputError):
                sounder = opened(OutputChoice("speaker"), self._level)
                self.notice += "; the speaker sounds instead"
                return sounder
        self.notice += "" if HOW_TO_GET_SOUND in self.notice else f"; {HOW_TO_GET_SOUND}"
        return Silent()

    def _move(self, sounder: Sounder) -> None:
        old = self.sounder
        assert self.player is not None
        with self.lock:
            self.player.move_to(sounder)
            self.sounder = sounder
        if isinstance(sounder, PulledSounder):
            sounder.pull(self.player.advance, self.lock)
        with contextlib.suppress(Exception):
            old.close()


def opened(choice: OutputChoice, level: float) -> Sounder:
    """An open sounder for the choice. Raises OutputError."""
    sounder: Sounder
    if choice.kind == "speaker":
        from earloop.sounding.speaker import Speaker

        sounder = Speaker(choice.low_latency, choice.backend)
    elif choice.kind == "midi":
        from earloop.sounding.midi_port import MidiPort

        sounder = MidiPort(choice, level)
    else:
        sounder = Silent()
    sounder.open()
    sounder.level(level)
    return sounder
