"""A MIDI keyboard as an answer: the keys played, with the moments they went down and came up."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from earloop.capture.sources import HOW_TO_BE_HEARD, Source, SourceError
from earloop.hearing.tones_sung import SungTone
from earloop.sounding.midi_listener import FetchedInput
from earloop.sounding.midi_words import NOTE_OFF, NOTE_ON
from earloop.sounding.outputs import OutputError

KEPT = 4096
"""Key movements remembered: minutes of playing."""

Stroke = tuple[float, int, int]
"""Monotonic second, key, velocity (0: released)."""


class Keyboard(FetchedInput):
    """Open it, then `strokes` grows; `held` is the key that went down last and is still down."""

    def __init__(self, source: Source) -> None:
        super().__init__(source.name)
        self.source = source
        self.sentence = source.sentence
        self.notice = ""
        self.strokes: deque[Stroke] = deque(maxlen=KEPT)
        self._down: list[tuple[int, int]] = []

    def open(self) -> None:
        """Raises SourceError where there is no such port."""
        try:
            super().open()
        except OutputError as error:
            raise SourceError(f"{error}; {HOW_TO_BE_HEARD}") from error
        self.sentence = f"keyboard {self.name}"

    @property
    def held(self) -> tuple[int, int] | None:
        """(key, velocity) of the key struck last of those that are down."""
        return self._down[-1] if self._down else None

    def _received(self, words: list[int], moment: float) -> None:
        kind = words[0] & 0xF0
        if len(words) != 3 or kind not in (NOTE_ON, NOTE_OFF):
            return
        key, velocity = words[1], words[2] if kind == NOTE_ON else 0
        self.strokes.append((moment, key, velocity))
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
