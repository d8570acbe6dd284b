"""A recording played into the same path as a microphone, at the pace of the clock: for trying, and for tests."""

from __future__ import annotations

import threading
import time
from pathlib import Path

import numpy as np

from earloop.capture.decimation import DEVICE_RATE
from earloop.capture.microphone import PERIOD, Received
from earloop.capture.sources import Source, SourceError
from earloop.hearing.pitch_track import Floats
from earloop.hearing.take import TakeError, read_take


class Recorded:
    """Sound file → blocks in real time; after its end silence, until it is to begin again."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.sentence = source.sentence
        self.lost = False
        self.notice = ""
        self._closing, self._anew = threading.Event(), threading.Event()

    def open(self, received: Received) -> None:
        """Raises SourceError where the file can't be read."""
        try:
            sound = read_take(Path(self.source.name), DEVICE_RATE)
        except TakeError as error:
            raise SourceError(str(error)) from error
        threading.Thread(target=self._play, args=(sound, received), name="earloop recording", daemon=True).start()

    def again(self) -> None:
        """From its beginning; what was heard of it stays heard."""
        self._anew.set()

    def close(self) -> None:
        self._closing.set()

    def _play(self, sound: Floats, received: Received) -> None:
        block = DEVICE_RATE * PERIOD // 1000
        silence = np.zeros(block)
        begun, at, place = time.monotonic(), 0, 0
        while not self._closing.is_set():
            if self._anew.is_set():
                self._anew.clear()
                place = 0
            part = sound[place : place + block]
            at, place = at + block, place + block
            # A block is in hand only when its last sample has passed, as with a microphone.
            wait = begun + at / DEVICE_RATE - time.monotonic()
            if wait > 0:
                self._closing.wait(wait)
            received(np.concatenate([part, silence[len(part) :]]), time.monotonic())
