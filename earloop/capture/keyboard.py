"""A MIDI keyboard as an answer: the keys played, with the moments they went down and came up."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Sequence
from typing import Any

from earloop.capture.sources import HOW_TO_BE_HEARD, Source, SourceError
from earloop.hearing.tones_sung import SungTone
from earloop.sounding.midi_port import connect, match, port_names_of
from earloop.sounding.midi_words import NOTE_OFF, NOTE_ON
from earloop.sounding.outputs import OutputError
from earloop.sounding.quiet import quiet_stderr

KEPT = 4096
"""Key movements remembered: minutes of playing."""

Stroke = tuple[float, int, int]
"""Monotonic second, key, velocity (0: released)."""


class Keyboard:
    """Open it, then `strokes` grows; `held` is the key that went down last and is still down."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.sentence = source.sentence
        self.notice = ""
        self.strokes: deque[Stroke] = deque(maxlen=KEPT)
        self._down: list[tuple[int, int]] = []
        self._in: Any = None

    def open(self) -> None:
        """Raises SourceError where there is no such port."""
        try:
            self._in, name = connect("in", self.source.name)
        except OutputError as error:
            raise SourceError(f"{error}; {HOW_TO_BE_HEARD}") from error
        self.sentence = f"keyboard {name}"
        self._name = name
        self._in.set_callback(self._received)

    @property
    def lost(self) -> bool:
        """Whether the port has gone. Asks the system: now and then is enough."""
        return self._in is not None and match(self._name, port_names_of(self._in)) is None

    @property
    def held(self) -> tuple[int, int] | None:
        """(key, velocity) of the key struck last of those that are down."""
        return self._down[-1] if self._down else None

    def close(self) -> None:
        if self._in is not None:
            with quiet_stderr():
                self._in.cancel_callback()
                self._in.close_port()
                self._in.delete()
            self._in = None

    def _received(self, message: tuple[list[int], float], data: Any) -> None:
        words = message[0]
        kind = words[0] & 0xF0
        if len(words) != 3 or kind not in (NOTE_ON, NOTE_OFF):
            return
        key, velocity = words[1], words[2] if kind == NOTE_ON else 0
        self.strokes.append((time.monotonic(), key, velocity))
        down = [pair for pair in self._down if pair[0] != key]
        self._down = [*down, (key, velocity)] if velocity else down


def tones_from_midi(strokes: Sequence[Stroke], begin: float, end: float) -> tuple[SungTone, ...]:
    """The keys that went down between two moments, as tones; onsets in seconds from `begin`.

    A note on with velocity 0 is a note off (MIDI 1.0); a key struck again ends its former tone; what is still down at
    `end` sounds until then.
    """
    tones: list[SungTone] = []
    down: dict[int, float] = {}
    for moment, key, velocity in strokes:
        if key in down:
            onset = down.pop(key)
            tones.append(SungTone(onset - begin, min(moment, end) - onset, float(key)))
        if velocity and begin <= moment < end:
            down[key] = moment
    tones += [SungTone(onset - begin, end - onset, float(key)) for key, onset in down.items()]
    return tuple(sorted(tones, key=lambda tone: (tone.onset, tone.midi)))
