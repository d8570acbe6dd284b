"""The MIDI input the performer chose: opened when it is there, let go when it leaves, opened again when it is back."""

from __future__ import annotations

import contextlib
import math
import os
import time
from typing import TYPE_CHECKING

from earloop.sounding.outputs import OutputChoice, OutputError, Wish

if TYPE_CHECKING:
    from earloop.sounding.midi_listener import MidiListener

TRY_AGAIN = 3.0
"""Seconds between attempts to open a missing port."""


class Listening:
    """`wake` is a file descriptor that becomes readable when somebody writes to `wake_end`. What pedal and keys ask
    for is in `wishes`; `often` is how long to wait between looks at them."""

    def __init__(self) -> None:
        self.wake, self.wake_end = os.pipe()
        os.set_blocking(self.wake, False)
        os.set_blocking(self.wake_end, False)
        self.notice = ""
        self.heard = 0
        self.notes: tuple[tuple[float, int, int], ...] = ()
        self._choice = OutputChoice("silent")
        self._listener: MidiListener | None = None
        self._tried = 0.0

    def choose(self, choice: OutputChoice) -> None:
        if (choice.listen, choice.controls) != (self._choice.listen, self._choice.controls):
            self.close()
            self._choice = choice
            self._open()

    @property
    def often(self) -> float:
        """Seconds."""
        return math.inf if self._listener is None else self._listener.fetched_every

    def awake(self) -> None:
        """What was written to `wake_end` is taken."""
        with contextlib.suppress(BlockingIOError):
            os.read(self.wake, 4096)

    def wishes(self) -> list[Wish]:
        return self._listener.taken() if self._listener is not None else []

    def look_around(self) -> None:
        """Takes a moment: call it when nothing is due."""
        if self._listener is not None:
            if self._listener.lost:
                self.close()
                self.notice = f"the MIDI port {self._choice.listen} to listen to has gone"
            else:
                self.heard, self.notes = self._listener.heard, tuple(self._listener.notes)
        elif self._choice.listen and time.monotonic() - self._tried > TRY_AGAIN:
            self._open()

    def close(self) -> None:
        if self._listener is not None:
            with contextlib.suppress(Exception):
                self._listener.close()
            self._listener = None

    def _open(self) -> None:
        self._tried = time.monotonic()
        self.notice = ""
        if not self._choice.listen:
            return
        from earloop.sounding.midi_listener import MidiListener

        listener = MidiListener(self._choice.listen, self._choice.controls)
        try:
            listener.open()
        except OutputError as error:
            self.notice = f"nothing is listened to: {error}"
        else:
            self._listener = listener
