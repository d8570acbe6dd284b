"""A sounder that writes down MIDI messages with their ticks, a track a strand, instead of sending them."""

from __future__ import annotations

from itertools import count

from earloop.performing.events import Strand
from earloop.sounding.channels import Channels
from earloop.sounding.outputs import OutputChoice

TICKS = 960
"""Standard MIDI File division: ticks a quarter."""


class MidiRecorder:
    """`tracks` holds (ticks, message) rows in order. `tempo` in quarters a minute turns seconds into ticks.

    `tempos` is the tempo map: (ticks, quarters a minute) rows, the first at 0.
    """

    name = "MIDI file"

    def __init__(self, tempo: float) -> None:
        self._since = (0.0, 0.0, tempo)
        self.tempos: list[tuple[int, float]] = [(0, tempo)]
        self.tracks: dict[Strand, list[tuple[int, list[int]]]] = {}
        self._channels = Channels(OutputChoice("midi"))
        self._strands: dict[int, Strand] = {}
        self._numbers = count(1)

    def now(self) -> float:
        return 0.0

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        voice = next(self._numbers)
        track = self.tracks.setdefault(strand, [])
        self._strands[voice] = strand
        words = self._channels.begun(voice, midi, cents, loudness, strand)
        # What prepares a track stands at its very beginning.
        track += [(self._ticks(at) if track else 0, word) for word in words[:-1]]
        track.append((self._ticks(at), words[-1]))
        return voice

    def stop(self, voice: int, at: float) -> None:
        rows = self.tracks[self._strands.pop(voice)]
        rows += [(self._ticks(at), word) for word in self._channels.ended(voice)]

    def change_tempo(self, at: float, tempo: float) -> None:
        """From second `at` on another tempo."""
        seconds, quarters, before = self._since
        self._since = (at, quarters + (at - seconds) * before / 60, tempo)
        self.tempos.append((self._ticks(at), tempo))

    def _ticks(self, at: float) -> int:
        seconds, quarters, tempo = self._since
        return round((quarters + (at - seconds) * tempo / 60) * TICKS)

    def open(self) -> None:
        """Nothing to open."""

    def level(self, level: float) -> None:
        """Files keep the strands' own loudness."""

    def silence(self) -> None:
        """Every stop is written already."""

    def close(self) -> None:
        """Nothing to close."""
