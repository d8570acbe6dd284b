"""A user's own SoundFont, played by FluidSynth into our stream. Needs pyfluidsynth and the FluidSynth library."""

from __future__ import annotations

import heapq
from importlib import import_module
from itertools import count
from pathlib import Path
from typing import Any

import numpy as np

from earloop.performing.events import Strand
from earloop.sounding import midi_words
from earloop.sounding.channels import Channels
from earloop.sounding.outputs import OutputChoice, OutputError
from earloop.sounding.quiet import quiet_stderr
from earloop.sounding.synth import MODERATE, RATE, limited
from earloop.sounding.timbres import Floats

HOW_TO_GET_FLUIDSYNTH = "install FluidSynth (Debian: libfluidsynth3) and pip install pyfluidsynth"
PAUSE = 3.0
"""Seconds of release after which nothing of a tone is left."""


class FontInstrument:
    """Renders up to each message's own frame, so that onsets are exact to the sample here too."""

    name = "SoundFont"

    def __init__(self, choice: OutputChoice, rate: int = RATE) -> None:
        self.choice = choice
        self.rate = rate
        self.frame = 0
        self._channels = Channels(choice)
        self._numbers = count(1)
        self._order = count()
        self._planned: list[tuple[int, int, int, tuple[Any, ...]]] = []
        self._last_end = -rate * 10
        self._level = MODERATE
        self._synth: Any = None

    def open(self) -> None:
        """Raises OutputError where FluidSynth or the file is missing."""
        path = Path(self.choice.soundfont).expanduser()
        if not path.is_file():
            raise OutputError(f"there is no SoundFont {path}; the built-in synth needs none")
        try:
            fluidsynth = import_module("fluidsynth")
        except (ImportError, OSError, AttributeError) as error:
            raise OutputError(f"a SoundFont needs FluidSynth: {HOW_TO_GET_FLUIDSYNTH}") from error
        with quiet_stderr():
            self._synth = fluidsynth.Synth(gain=0.4, samplerate=float(self.rate))
            number = self._synth.sfload(str(path))
        if number == -1:
            raise OutputError(f"{path.name} is not a SoundFont FluidSynth can read")
        for channel in range(16):
            self._synth.program_select(channel, number, 128 if channel == 9 else 0, 0)
        for words in self._channels.prepared():
            self._do(words)

    def now(self) -> float:
        return self.frame / self.rate

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        voice = next(self._numbers)
        self._plan(at, 1, (voice, midi, cents, loudness, strand))
        return voice

    def stop(self, voice: int, at: float) -> None:
        self._plan(at, 0, (voice,))

    def level(self, level: float) -> None:
        self._level = min(1.0, max(0.0, level))

    def silence(self) -> None:
        self._planned.clear()
        for words in self._channels.silenced():
            self._do(words)

    def close(self) -> None:
        if self._synth is not None:
            self._synth.delete()
            self._synth = None

    @property
    def sounding(self) -> int:
        """At least 1 until the last release has died away."""
        under_way = len(self._planned) + len(self._channels.held)
        return under_way or int(self.frame < self._last_end + PAUSE * self.rate)

    def render(self, frames: int) -> Floats:
        """The next block: frames × 2, each sample within ±1."""
        parts: list[Floats] = []
        end = self.frame + frames
        while self.frame < end:
            while self._planned and self._planned[0][0] <= self.frame:
                self._happen(heapq.heappop(self._planned)[3])
            until = min(end, self._planned[0][0]) if self._planned else end
            samples = self._synth.get_samples(until - self.frame)
            parts.append(np.asarray(samples, dtype=np.float32).reshape(-1, 2) / np.float32(32768))
            self.frame = until
        return limited(np.concatenate(parts) * np.float32(2 * self._level)) if parts else np.zeros((0, 2), np.float32)

    def _plan(self, at: float, rank: int, what: tuple[Any, ...]) -> None:
        frame = max(self.frame, round(at * self.rate))
        heapq.heappush(self._planned, (frame, rank, next(self._order), what))

    def _happen(self, what: tuple[Any, ...]) -> None:
        if len(what) == 1:
            self._last_end = self.frame
            words = self._channels.ended(what[0])
        else:
            words = self._channels.begun(*what)
        for message in words:
            self._do(message)

    def _do(self, words: list[int]) -> None:
        kind, channel = words[0] & 0xF0, words[0] & 0x0F
        if kind == midi_words.NOTE_ON:
            self._synth.noteon(channel, words[1], words[2])
        elif kind == midi_words.NOTE_OFF:
            self._synth.noteoff(channel, words[1])
        elif kind == midi_words.CONTROL:
            self._synth.cc(channel, words[1], words[2])
        elif kind == midi_words.PROGRAM and channel != 9:
            self._synth.program_change(channel, words[1])
        elif kind == midi_words.BEND:
            self._synth.pitch_bend(channel, words[1] + (words[2] << 7) - midi_words.CENTER)
