"""What a performer chooses about the sound beyond its loudness: tuning, range, ramp; and what each choice may be.

The words here are checked by `ValueError` with one sentence, for the screen and the command line alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log2

from earloop.session.choices import FASTEST, SLOWEST
from earloop.transport.pace import Ramp
from earloop.transport.tuning import HIGHEST_A4, LOWEST_A4

FARTHEST = 36
"""Semitones a phrase may be moved: three octaves."""
INTERVALS = {
    "P1": 0, "m2": 1, "M2": 2, "m3": 3, "M3": 4, "P4": 5, "A4": 6, "d5": 6,
    "P5": 7, "m6": 8, "M6": 9, "m7": 10, "M7": 11, "P8": 12,
}  # fmt: skip
"""The usual short names of intervals (perfect, minor, major, augmented, diminished), in semitones."""
SPOKEN = {
    1: "a semitone", 2: "a tone", 3: "a minor third", 4: "a major third", 5: "a fourth", 6: "a tritone",
    7: "a fifth", 8: "a minor sixth", 9: "a major sixth", 10: "a minor seventh", 11: "a major seventh",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class TempoRamp:
    """Percent of the score's own tempo: each pass `step` faster, from `first` up to `goal`, which is no slower.

    That one works a phrase up to its tempo is common practice, no source; downwards the tempo is set by hand.
    """

    first: int = 60
    goal: int = 100
    step: int = 5

    @property
    def as_ramp(self) -> Ramp:
        """The player's own form."""
        return Ramp(self.goal / 100, self.step / 100)

    @property
    def passes(self) -> int:
        """How many passes it takes until one has sounded at the goal."""
        return self.as_ramp.passes_from(self.first / 100)


@dataclass(frozen=True, slots=True)
class SoundChoices:
    """`a4` in Hz; `just` tunes over the home tonic, as the drone has it; `transpose` in semitones."""

    a4: float = 440.0
    just: bool = False
    transpose: int = 0
    ramp: TempoRamp | None = None

    @property
    def above_written(self) -> float:
        """Semitones by which the player sounds above the written pitch at A4 = 440 Hz (ISO 16)."""
        return self.transpose + 12 * log2(self.a4 / 440.0)


def checked_a4(hertz: float) -> float:
    if not LOWEST_A4 <= hertz <= HIGHEST_A4:
        raise ValueError(f"A4 at {hertz:g} Hz is out of reach: choose {LOWEST_A4:g} to {HIGHEST_A4:g}")
    return hertz


def checked_steps(semitones: int) -> int:
    if abs(semitones) > FARTHEST:
        raise ValueError(f"{semitones:+d} semitones is too far: choose -{FARTHEST} to {FARTHEST}")
    return semitones


def interval(words: str) -> int:
    """`-12`, `3`, `P8`, `-m3` → semitones."""
    text = words.strip()
    sign, name = (-1, text[1:]) if text[:1] == "-" else (1, text.removeprefix("+"))
    if name.isdigit():
        return checked_steps(sign * int(name))
    if name in INTERVALS:
        return sign * INTERVALS[name]
    raise ValueError(f"{words} is no interval: write semitones such as -12 or 3, or a name such as P8, -m3, P5")


def ramp_of(words: str) -> TempoRamp:
    """`60:100:5` → from 60 to 100 percent, 5 more in each pass; never from faster to slower."""
    parts = words.split(":")
    if len(parts) != 3 or not all(part.strip().isdigit() for part in parts):
        raise ValueError(f"{words} is no ramp: write from, to and step in percent, such as 60:100:5")
    first, goal, step = map(int, parts)
    if not (SLOWEST <= first <= FASTEST and SLOWEST <= goal <= FASTEST):
        raise ValueError(f"a ramp from {first} to {goal} percent is out of reach: choose {SLOWEST} to {FASTEST}")
    if step < 1:
        raise ValueError("a ramp needs a step of at least 1 percent a pass, such as 60:100:5")
    if goal < first:
        asked = f"a ramp grows faster with each pass, so one from {first} never comes to {goal} percent"
        raise ValueError(f"{asked}: put the slower tempo first, {goal}:{first}:{step}")
    return TempoRamp(first, goal, step)


def moved(semitones: int) -> str:
    """`-15` → `an octave and a minor third lower`."""
    if semitones == 0:
        return "as written"
    octaves, rest = divmod(abs(semitones), 12)
    names = [("an octave" if octaves == 1 else f"{octaves} octaves") if octaves else "", SPOKEN.get(rest, "")]
    return f"{' and '.join(filter(None, names))} {'higher' if semitones > 0 else 'lower'}"
