"""The built-in synth: tones to the exact sample in a stereo stream, a soft limiter after them."""

from __future__ import annotations

from itertools import count

import numpy as np

from earloop.performing.events import Strand
from earloop.sounding.timbres import Floats
from earloop.sounding.tone_voice import ToneVoice

RATE = 48000
KNEE = 0.6
"""Below it the limiter leaves the sound alone; above it bends, and never goes beyond the ceiling."""
CEILING = 10 ** (-0.2 / 20)
"""-0.2 dBFS: room for a converter's own overshoot, and clear of the -0.1 dBFS that eight loud voices may reach."""

MODERATE = 0.5
"""The level at which a player begins."""

MOST_VOICES = 48
"""Releases included. Beyond it the oldest fade quickly, so that no passage can overload the stream."""

SAME_FRAME = 2
"""Rounding may put the end of a tone and the start of the next so many frames apart."""


class Synth:
    """A sounder whose clock is its own stream: `now` is the second of the next frame to be rendered."""

    name = "built-in synth"

    def __init__(self, rate: int = RATE, level: float = MODERATE) -> None:
        self.rate = rate
        self.frame = 0
        self._level = self._level_before = level
        self._voices: dict[int, ToneVoice] = {}
        self._numbers = count(1)

    def open(self) -> None:
        """Nothing to open: it sounds into whoever calls `render`."""

    def close(self) -> None:
        self._voices.clear()

    def now(self) -> float:
        return self.frame / self.rate

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        frame = max(self.frame, round(at * self.rate))
        before = self._bound_to(strand, frame)
        number = next(self._numbers)
        self._voices[number] = ToneVoice(midi, cents, loudness, strand, frame, self.rate, legato, before)
        if len(self._voices) > MOST_VOICES:
            self._voices[next(iter(self._voices))].cut(self.frame)
        return number

    def stop(self, voice: int, at: float) -> None:
        tone = self._voices.get(voice)
        if tone is not None:
            frame = max(self.frame, round(at * self.rate))
            tone.stop(frame, bound=tone.legato and self._taken_over(tone, frame))

    def _bound_to(self, strand: Strand, frame: int) -> ToneVoice | None:
        """The legato tone of the strand that a new one takes over from, if there is one."""
        for tone in reversed(self._voices.values()):
            if tone.strand == strand and tone.legato and (tone.end is None or tone.end >= frame - SAME_FRAME):
                return tone
        return None

    def _taken_over(self, tone: ToneVoice, frame: int) -> bool:
        return any(
            other is not tone and other.strand == tone.strand and abs(other.start - frame) <= SAME_FRAME
            for other in self._voices.values()
        )

    def level(self, level: float) -> None:
        self._level = min(1.0, max(0.0, level))

    def silence(self) -> None:
        for voice in self._voices.values():
            voice.cut(self.frame)

    @property
    def sounding(self) -> int:
        """How many tones sound, releases included."""
        return len(self._voices)

    def render(self, frames: int) -> Floats:
        """The next block: frames × 2, each sample within ±1."""
        out = np.zeros((frames, 2), dtype=np.float32)
        for number, voice in list(self._voices.items()):
            if voice.gone(self.frame):
                del self._voices[number]
            else:
                voice.add_to(out, self.frame)
        self._apply_level(out)
        self.frame += frames
        return limited(out)

    def _apply_level(self, out: Floats) -> None:
        if self._level == self._level_before:
            out *= np.float32(2 * self._level)
            return
        glide = np.linspace(2 * self._level_before, 2 * self._level, len(out), dtype=np.float32)
        out *= glide[:, None]
        self._level_before = self._level


def limited(block: Floats) -> Floats:
    """Bends what lies above the knee, without memory, so that the result depends on the sample alone."""
    if not len(block) or float(np.abs(block).max()) <= KNEE:
        return block
    over = np.maximum(np.abs(block) - KNEE, 0.0)
    room = CEILING - KNEE
    return np.asarray(
        np.sign(block) * (np.minimum(np.abs(block), KNEE) + room * np.tanh(over / room)), dtype=np.float32
    )
