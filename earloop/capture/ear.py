"""What the listening process listens to, and what it has heard: the open source, the live pitch, the memory."""

from __future__ import annotations

import contextlib
import time
from collections import deque
from dataclasses import replace
from pathlib import Path

import numpy as np

from earloop.capture.decimation import DELAY, DEVICE_RATE, Decimation, decimated
from earloop.capture.keyboard import Keyboard, tones_from_midi
from earloop.capture.live_track import HOP, LiveTrack
from earloop.capture.memory import Memory, Stretch
from earloop.capture.messages import Answer, Frame, Kept
from earloop.capture.microphone import Microphone
from earloop.capture.recorded import Recorded
from earloop.capture.sources import NOTHING, Source, SourceError
from earloop.capture.take_file import KeepError, write_keys, write_sound
from earloop.hearing.pitch_track import Floats, pitch_track
from earloop.hearing.tones_sung import SungTone, tones_sung

TRY_AGAIN = 3.0
"""Seconds between attempts to open what is missing."""
QUIET = -120.0


class Ear:
    """One source at a time. `take_in` is to be called often; it gives the new frames."""

    def __init__(self) -> None:
        self.source = NOTHING
        self.notice = ""
        self._open: Microphone | Recorded | Keyboard | None = None
        self._waiting: deque[tuple[Floats, float]] = deque()
        self._tried = 0.0
        self._forget()

    def _forget(self) -> None:
        self.memory = Memory()
        self._down, self._track, self._frames_due = Decimation(), LiveTrack(), 0.0
        self._waiting.clear()

    def listen(self, source: Source) -> None:
        """To this source from now on; what was heard before is forgotten."""
        self.close()
        self._forget()
        self.source = source
        self._try()

    @property
    def sentence(self) -> str:
        return self._open.sentence if self._open is not None else "nothing"

    def close(self) -> None:
        if self._open is not None:
            with contextlib.suppress(Exception):
                self._open.close()
            self._open = None

    def again(self) -> None:
        """A recording from its beginning; a voice and a keyboard begin by themselves."""
        if isinstance(self._open, Recorded):
            self._open.again()

    def look_around(self) -> None:
        """Notices what has gone and what has come back; twice a second is enough."""
        if self._open is None:
            if self.source.kind != "nothing" and time.monotonic() - self._tried > TRY_AGAIN:
                self._try()
        elif self._open.lost:
            self.notice = f"{self._open.sentence} has gone; it is looked for again"
            self.close()
        else:
            self.notice = self._open.notice

    def take_in(self) -> list[Frame]:
        """The frames of all that has arrived since the last call."""
        if isinstance(self._open, Keyboard):
            return self._key_frame(self._open)
        out: list[Frame] = []
        while self._waiting:
            samples, moment = self._waiting.popleft()
            self.memory.append(samples, moment)
            out += self._framed(self._track.feed(self._down.feed(samples)))
        return out

    @property
    def until(self) -> float:
        """The moment up to which all has been heard."""
        return time.monotonic() if isinstance(self._open, Keyboard) else self.memory.until

    def answer(self, number: int, begin: float, end: float) -> Answer:
        """What was sung between two moments: the same way from sound to tones as on a recording. Takes its time."""
        if isinstance(self._open, Keyboard):
            return Answer(number, begin, end, tones_from_midi(tuple(self._open.strokes), begin, end))
        stretch = self.memory.between(begin, end)
        if not len(stretch.sound):
            return Answer(number, begin, end, (), self.notice or "nothing was heard")
        sung = tones_sung(pitch_track(decimated(stretch.sound)))
        return Answer(number, begin, end, tuple(_on_the_clock(tone, stretch, begin) for tone in sung))

    def keep(self, path: Path, begin: float, end: float) -> Kept:
        """Write what was heard between two moments; never raises."""
        try:
            if isinstance(self._open, Keyboard):
                path = path.with_suffix(".mid")
                write_keys(tones_from_midi(tuple(self._open.strokes), begin, end), path)
            else:
                write_sound(self.memory.between(begin, end).sound, path)
        except KeepError as error:
            return Kept(str(path), str(error))
        return Kept(str(path))

    def _try(self) -> None:
        self._tried = time.monotonic()
        self.notice = ""
        if self.source.kind == "nothing":
            return
        try:
            self._open = self._opened()
        except SourceError as error:
            self.notice = str(error)

    def _opened(self) -> Microphone | Recorded | Keyboard:
        """The source, open. Raises SourceError."""
        if self.source.kind == "midi":
            keyboard = Keyboard(self.source)
            keyboard.open()
            return keyboard
        listener = Recorded(self.source) if self.source.kind == "file" else Microphone(self.source)
        listener.open(lambda samples, moment: self._waiting.append((samples, moment)))
        return listener

    def _framed(self, found: list[tuple[float, float | None, float]]) -> list[Frame]:
        clock = self.memory.clock
        return [Frame(clock.moment((at - DELAY) * DEVICE_RATE), midi, decibels) for at, midi, decibels in found]

    def _key_frame(self, keyboard: Keyboard) -> list[Frame]:
        """A frame each HOP, so that a held key draws a line as a held voice does."""
        now = time.monotonic()
        if now < self._frames_due:
            return []
        self._frames_due = now + HOP
        held = keyboard.held
        if held is None:
            return [Frame(now, None, QUIET)]
        return [Frame(now, float(held[0]), 20 * float(np.log10(held[1] / 127)))]


def _on_the_clock(tone: SungTone, stretch: Stretch, begin: float) -> SungTone:
    """Seconds of sound → seconds of the machine's clock after `begin`."""
    first, last = (stretch.moment(at - DELAY) for at in (tone.onset, tone.onset + tone.length))
    return replace(tone, onset=first - begin, length=last - first)
