"""Which MIDI channel a tone takes, so that each strand keeps its own and two tunings never share one at a time."""

from __future__ import annotations

from dataclasses import dataclass

from earloop.performing.events import STRANDS, Strand
from earloop.sounding import midi_words
from earloop.sounding.claims import PERCUSSION, Shares, wished
from earloop.sounding.midi_words import Words
from earloop.sounding.outputs import OutputChoice
from earloop.sounding.timbres import PLACES

SAME_TUNING = 0.5
"""Cents. Less apart than this, two tones may share a channel's bend."""

LOUD_COUNT = 0.6
KNOCKS = (76, 77)
"""High and low wood block on the percussion channel (General MIDI 1)."""
WOOD_BLOCK = 115
"""The program that stands for them elsewhere (General MIDI 1, from 0)."""


@dataclass(slots=True)
class Held:
    """A tone that sounds: its channel, its key and the strand it belongs to."""

    channel: int
    key: int
    strand: Strand


class Channels:
    """Turns tones into messages and remembers what sounds. It sends nothing itself."""

    def __init__(self, choice: OutputChoice, volume: int = 100, shares: Shares | None = None) -> None:
        """`volume` is what channels are prepared with (controller 7). Without `shares` all channels are ours."""
        self.volume = volume
        programs = dict(choice.programs)
        self.home = shares.home if shares else wished(choice)
        self.program = {strand: programs.get(strand, PLACES[strand].program) for strand in STRANDS}
        if self.home["count"] != PERCUSSION and "count" not in programs:
            self.program["count"] = WOOD_BLOCK
        taken = {*self.home.values(), PERCUSSION}
        self.spare = [*shares.spare] if shares else [channel for channel in range(16) if channel not in taken]
        self.held: dict[int, Held] = {}
        self.in_use = [*dict.fromkeys(self.home.values()), *self.spare]
        self._bends: dict[int, float] = {}
        self._programs: dict[int, int] = {}

    def prepared(self) -> list[Words]:
        """What to send when a port opens. A channel that isn't prepared here is so when its first tone begins."""
        words: list[Words] = []
        wanted = dict.fromkeys(self.spare, 0) | {self.home[strand]: self.program[strand] for strand in STRANDS}
        for channel, program in wanted.items():
            words += midi_words.prepared(channel, program, self.volume)
        self._programs = wanted
        self._bends.clear()
        return words

    def begun(self, voice: int, key: int, cents: float, loudness: float, strand: Strand) -> list[Words]:
        """The messages that begin a tone; a tone of the same key and channel is ended first."""
        words: list[Words] = []
        if strand == "count" and self.home["count"] == PERCUSSION:
            key, cents = KNOCKS[0 if loudness >= LOUD_COUNT else 1], 0.0
        shift = round(cents / 100) if abs(cents) > midi_words.BEND_RANGE * 100 - 1 else 0
        key, cents = min(127, max(0, key + shift)), cents - 100 * shift
        channel = self._channel(strand, cents)
        for other, held in list(self.held.items()):
            if (held.channel, held.key) == (channel, key):
                words += self.ended(other)
        if channel not in self._programs:
            words += midi_words.prepared(channel, self.program[strand], self.volume)
        elif self._programs[channel] != self.program[strand]:
            words.append([midi_words.PROGRAM | channel, self.program[strand]])
        self._programs[channel] = self.program[strand]
        if abs(self._bends.get(channel, 0.0) - cents) > 0.01:
            words.append(midi_words.bend(channel, cents))
            self._bends[channel] = cents
        words.append(midi_words.note_on(channel, key, round(loudness * 127)))
        self.held[voice] = Held(channel, key, strand)
        return words

    def ended(self, voice: int) -> list[Words]:
        held = self.held.pop(voice, None)
        return [] if held is None else [midi_words.note_off(held.channel, held.key)]

    def silenced(self) -> list[Words]:
        """Note offs first, then the controllers, on every channel in use."""
        words = [word for voice in list(self.held) for word in self.ended(voice)]
        for channel in self.in_use:
            words += midi_words.quieted(channel)
        return words

    def _channel(self, strand: Strand, cents: float) -> int:
        """The strand's own; a spare one while tones of another tuning or strand sound there, or any that rests."""
        pitched = [channel for channel in self.home.values() if channel != PERCUSSION]
        for channel in (self.home[strand], *self.spare, *reversed(pitched)):
            users = [held for held in self.held.values() if held.channel == channel]
            others = [held for held in users if held.strand != strand]
            if not users or (not others and abs(self._bends.get(channel, 0.0) - cents) < SAME_TUNING):
                return channel
        return self.home[strand]
