"""Spelled pitch: a letter, an alteration and an octave, in scientific notation (C4 is middle C, MIDI key 60)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

LETTERS = "CDEFGAB"
SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_NAME = re.compile(r"([A-Ga-g])(#{0,3}|b{0,3}|x|♯{0,3}|♭{0,3})(-?\d+)$")


@dataclass(frozen=True, slots=True, order=False)
class Pitch:
    """One spelled pitch. `step` is 0 (C) to 6 (B), `alter` in semitones, `octave` scientific."""

    step: int
    alter: int
    octave: int

    @property
    def midi(self) -> int:
        """MIDI 1.0 key number (may lie outside 0..127 for extreme octaves)."""
        return 12 * (self.octave + 1) + SEMITONES[self.step] + self.alter

    @property
    def pc(self) -> int:
        """Pitch class, 0 (C) to 11."""
        return self.midi % 12

    @property
    def height(self) -> int:
        """Diatonic height: letters counted from C0, alteration ignored. Neighbouring letters differ by 1."""
        return 7 * self.octave + self.step

    @property
    def fifths(self) -> int:
        """Place on the line of fifths: C is 0, G 1, F -1, F♯ 6, B♭ -2."""
        return (0, 2, 4, -1, 1, 3, 5)[self.step] + 7 * self.alter

    @property
    def letter(self) -> str:
        return LETTERS[self.step]

    @property
    def name(self) -> str:
        """Plain-ASCII name with octave, such as `F#4` or `Bb3`."""
        return f"{self.letter}{self.accidental}{self.octave}"

    @property
    def accidental(self) -> str:
        return "#" * self.alter if self.alter >= 0 else "b" * -self.alter

    def moved(self, steps: int, semitones: int) -> Pitch:
        """The pitch `steps` letters and `semitones` semitones higher (negative: lower); spelling kept exact."""
        height = self.height + steps
        octave, step = divmod(height, 7)
        natural = 12 * (octave + 1) + SEMITONES[step]
        return Pitch(step, self.midi + semitones - natural, octave)

    def __str__(self) -> str:
        return self.name


def is_pitch_name(name: str) -> bool:
    """Whether it names a pitch with its octave."""
    return _NAME.match(name.strip()) is not None


def pitch_from_name(name: str) -> Pitch:
    """`F#4`, `Bb3`, `F♯4`, `C-1` (octave minus one) → Pitch. Raises ValueError for anything else."""
    match = _NAME.match(name.strip())
    if not match:
        raise ValueError(f"{name!r} is not a pitch name such as F#4 or Bb3")
    letter, sign, octave = match.groups()
    alter = 2 if sign == "x" else len(sign) * (1 if sign[:1] in ("#", "♯") else -1)
    return Pitch(LETTERS.index(letter.upper()), alter, int(octave))


@lru_cache(maxsize=4096)
def pitch_from_midi(midi: int, fifths: int = 0) -> Pitch:
    """Spell a MIDI key near `fifths`, the middle of a key's place on the line of fifths.

    `fifths` 0 spells like C major: F♯, C♯, G♯ up to six fifths above D, E♭ and B♭ below it.
    """
    # The seven-letter window whose centre is D (2 fifths above C) for a key with no signature.
    centre = fifths + 2
    place = (midi * 7) % 12
    place += 12 * round((centre - place) / 12)
    if place - centre > 6:
        place -= 12
    step = (place * 4) % 7
    alter = (place + 1) // 7
    natural = SEMITONES[step] + alter
    return Pitch(step, alter, (midi - natural) // 12 - 1)
