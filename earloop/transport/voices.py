"""The tones under way: which strands may sound, how they are tuned, and what must still be stopped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from earloop.performing.events import STRANDS, Event, Performance, Strand
from earloop.transport.sounder import Sounder
from earloop.transport.tuning import EQUAL, Tuning


@dataclass(slots=True)
class Voice:
    """One tone under way: the number its sounder gave it, and what it is."""

    number: int
    event: Event


class Voices:
    """Starts and stops tones through a sounder. Nothing it has started is ever forgotten before it is stopped."""

    def __init__(self, sounder: Sounder) -> None:
        self.sounder = sounder
        self.tuning = EQUAL
        self.steps = 0
        self._muted: set[Strand] = set()
        self._only: Strand | None = None
        self._sounding: dict[int, Voice] = {}

    def __len__(self) -> int:
        return len(self._sounding)

    @property
    def audible(self) -> set[Strand]:
        """The strands that may sound."""
        if self._only is not None:
            return {self._only, "count"}
        return {strand for strand in STRANDS if strand not in self._muted}

    def start(self, key: int, event: Event, seconds: float) -> bool:
        """False where its strand may not sound. `key` is the moment's own number for it."""
        if event.strand not in self.audible:
            return False
        self._sounding[key] = Voice(self._sound(event, seconds), event)
        return True

    def stop(self, key: int, seconds: float) -> None:
        voice = self._sounding.pop(key, None)
        if voice is not None:
            self.sounder.stop(voice.number, seconds)

    def end(self, seconds: float) -> None:
        """Stops all."""
        for key in list(self._sounding):
            self.stop(key, seconds)

    def retune(self, tuning: Tuning | None, steps: int | None) -> None:
        """Another tuning or transposition in semitones; what sounds is sounded anew."""
        self.tuning = self.tuning if tuning is None else tuning
        self.steps = self.steps if steps is None else steps
        now = self.sounder.now()
        for key, voice in list(self._sounding.items()):
            self.stop(key, now)
            self.start(key, voice.event, now)

    def mute(self, strand: Strand, on: bool, under_way: Iterator[tuple[int, Event]]) -> None:
        """`under_way` are the tones that would sound now if nothing were muted."""
        before = self.audible
        (self._muted.add if on else self._muted.discard)(strand)
        self._follow(before, under_way)

    def alone(self, strand: Strand | None, under_way: Iterator[tuple[int, Event]]) -> None:
        before = self.audible
        self._only = strand
        self._follow(before, under_way)

    def _follow(self, before: set[Strand], under_way: Iterator[tuple[int, Event]]) -> None:
        now = self.sounder.now()
        for key, voice in list(self._sounding.items()):
            if voice.event.strand not in self.audible:
                self.stop(key, now)
        for key, event in list(under_way):
            if event.strand in self.audible - before and key not in self._sounding:
                self.start(key, event, now)

    def _sound(self, event: Event, seconds: float) -> int:
        if event.strand == "count":
            return self.sounder.start(event.midi, event.cents, event.loudness, "count", seconds)
        midi = within_keys(event.midi + self.steps)
        tonic = self.tuning.just_on
        tuning = Tuning(self.tuning.a4, None if tonic is None else tonic + self.steps)
        cents = event.cents + tuning.cents(midi)
        return self.sounder.start(midi, cents, event.loudness, event.strand, seconds, event.legato)


def within_keys(midi: int) -> int:
    """Folded by octaves into the MIDI keys 0 to 127."""
    while midi > 127:
        midi -= 12
    while midi < 0:
        midi += 12
    return midi


def keys_of(performance: Performance, steps: int) -> frozenset[tuple[Strand, int]]:
    """Strands and MIDI keys that a performance may leave sounding, `steps` semitones higher."""
    moved = {(event.strand, within_keys(event.midi + steps)) for event in performance.events}
    return frozenset(moved | {("count", event.midi) for event in performance.count_in})
