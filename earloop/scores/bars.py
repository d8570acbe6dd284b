"""A part as it stands on the page, whatever file it came from: bars of notes and rests, with exact lengths.

Every format's reader ends here and the one line begins here, so that ties, voices, repeats and breath
marks are decided once for all formats.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction

from earloop.line import Marks, Pitch
from earloop.line.tone import NO_MARKS


@dataclass(slots=True)
class Entry:
    """One note, chord or rest. `onset` in quarters from the bar's start; `pitches` highest first, empty for a rest.

    `tied` says that a tie leads on to the next note of the voice. Grace notes have length 0.
    """

    onset: Fraction
    length: Fraction
    pitches: tuple[Pitch, ...] = ()
    voice: int = 0
    grace: bool = False
    tied: bool = False
    marks: Marks = NO_MARKS


@dataclass(slots=True)
class Bar:
    """One measure. `number` as printed; `barline` is the break its right barline means (`` for a plain one).

    `meter` is set where a new one begins: (beats, unit); (0, 0) ends the meter. `endings` are the volta numbers
    the bar stands under, `repeat_end` how often the passage is played in all (0: no repeat sign). `leap` is what the
    page asks for at its end (`da capo`, `dal segno`, with `al fine` or `al coda`); `signs` are `segno`, `fine`,
    `coda`, `to coda`.
    """

    number: str = ""
    length: Fraction = Fraction(0)
    entries: list[Entry] = field(default_factory=list)
    barline: str = ""
    meter: tuple[int, int] | None = None
    repeat_start: bool = False
    repeat_end: int = 0
    endings: tuple[int, ...] = ()
    leap: str = ""
    signs: tuple[str, ...] = ()


@dataclass(slots=True)
class PartPage:
    """One part, read. `fifths` and `mode` are the printed signature; the move is from written to sounding pitch."""

    name: str = ""
    bars: list[Bar] = field(default_factory=list)
    fifths: int | None = None
    mode: str = ""
    tempo: float | None = None
    move_steps: int = 0
    move_semitones: int = 0
    spelled: bool = True
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class PartHandle:
    """A part of a score, not yet read. `number` counts from 1; `melodic` is False for percussion or mere text."""

    number: int
    name: str
    tones: int
    melodic: bool
    open: Callable[[], PartPage]


@dataclass(frozen=True, slots=True)
class ScorePages:
    """A whole score: its title, the parts on offer, and sentences about what the reader had to decide."""

    title: str
    parts: tuple[PartHandle, ...]
    notes: tuple[str, ...] = ()
