"""The record of a reading: what carries the line, what decorates it, and how sure each proposal is.

Every column has one value a tone, in the line's order. Readers (one question a module) fill the parts;
`read.py` puts them together. Nothing here computes a reading.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from earloop.line import Line, Span

Voice = Literal["upper", "middle", "lower", "single"]
Mode = Literal["major", "minor"]
DEEPEST = 5
"""The deepest skeleton. Depth 0 is the page; depth 1 drops graces and turns; DEEPEST leaves a phrase's few pillars."""


@dataclass(frozen=True, slots=True)
class Key:
    """A tonic, spelled by its place on the line of fifths (C is 0, G 1, F -1), and a mode.

    `mode` says which third is heard; the church modes count by their third (Dorian is minor, Mixolydian major).
    """

    fifths: int
    mode: Mode = "major"

    @property
    def pc(self) -> int:
        """Pitch class of the tonic, 0 (C) to 11."""
        return self.fifths * 7 % 12

    @property
    def signature(self) -> int:
        """Sharps (positive) or flats of the key's signature."""
        return self.fifths - (3 if self.mode == "minor" else 0)

    @property
    def name(self) -> str:
        """`F# minor`, in plain ASCII."""
        alter, place = divmod(self.fifths + 1, 7)
        return f"{'FCGDAEB'[place]}{'#' * alter if alter > 0 else 'b' * -alter} {self.mode}"


@dataclass(frozen=True, slots=True)
class Degree:
    """A scale degree: 1 to 7 above a tonic; `alter` in semitones against the major or natural minor scale."""

    number: int
    alter: int = 0

    def __str__(self) -> str:
        return ("#" * self.alter if self.alter >= 0 else "b" * -self.alter) + str(self.number)


@dataclass(frozen=True, slots=True)
class Tonic:
    """The home key: `margin` 0..1 is how far it stands above the runner-up; `ranked` are pitch classes, best first.

    `sure` is the calibrated chance that the tonic is right.
    """

    key: Key
    margin: float
    ranked: tuple[int, ...]
    sure: float


@dataclass(frozen=True, slots=True)
class LocalKey:
    """The little key a gesture is heard in. `model` is the gesture whose degrees it repeats, None where it has none."""

    span: Span
    key: Key
    sure: float
    model: Span | None = None


Figure = Literal[
    "structural",
    "passing",
    "neighbor",
    "appoggiatura",
    "suspension",
    "retardation",
    "anticipation",
    "escape",
    "changing",
    "arpeggiation",
    "pedal",
    "repetition",
    "grace",
]
"""The figures a harmony handbook names, with `structural` for a tone that decorates none at the surface."""


@dataclass(frozen=True, slots=True)
class Weights:
    """The tree of the line. `parent[i]` is the tone that tone i decorates or depends on; -1 for the one root.

    `weight` rises with structural importance and is a consequence of the tree: a tone never outweighs its
    parent. `level[i]` is the deepest skeleton (0..DEEPEST) in which tone i still sounds, and never exceeds its
    parent's. `sure[i]` is the calibrated chance that tone i rightly hangs on its parent, and not the parent on it.
    """

    parent: tuple[int, ...]
    weight: tuple[float, ...]
    level: tuple[int, ...]
    figure: tuple[Figure, ...]
    sure: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Lean:
    """A lean and its release: tone indexes, the local degrees as `2-1`, and its stress 0..1 from length and place."""

    lean: int
    release: int
    degrees: str
    stress: float
    sure: float

    @property
    def rising(self) -> bool:
        first, second = (int(part[-1]) for part in self.degrees.split("-"))
        return (second - first) % 7 == 1


Treatment = Literal[
    "new",
    "repeated",
    "ornamented",
    "simplified",
    "transposed",
    "sequence",
    "inverted",
    "retrograde",
    "augmented",
    "diminished",
    "fragment",
    "extended",
]


@dataclass(frozen=True, slots=True)
class Motive:
    """One appearance of a motive. `name` (`a`, `b` …) is shared by all appearances; the first is its own model.

    `steps` is the diatonic transposition against the model; `exact` says that semitones agree too.
    """

    name: str
    span: Span
    model: Span
    treatment: Treatment
    steps: int
    exact: bool
    sure: float


@dataclass(frozen=True, slots=True)
class Link:
    """Two tones of one line that belong together across what lies between. `steps` is diatonic, signed."""

    first: int
    second: int
    voice: Voice
    steps: int
    sure: float

    @property
    def across(self) -> int:
        """How many tones lie between."""
        return self.second - self.first - 1


@dataclass(frozen=True, slots=True)
class Chain:
    """Three or more linked tones of one line that go on one way, by step or by third."""

    tones: tuple[int, ...]
    voice: Voice
    by: Literal["step", "third"]
    rising: bool

    @property
    def name(self) -> str:
        return f"{'rising' if self.rising else 'falling'} by {self.by}"


@dataclass(frozen=True, slots=True)
class Bridge:
    """Before tone `before` sounds, `tone` (the last of its line) is sounded once more."""

    tone: int
    before: int


@dataclass(frozen=True)
class Reading:
    """One way to hear a line. See the parts for their meaning; all columns run over the line's tones."""

    line: Line
    home: Tonic
    phrases: tuple[Span, ...]
    phrase_sure: tuple[float, ...]
    gestures: tuple[Span, ...]
    local: tuple[LocalKey, ...]
    degrees: tuple[Degree, ...]
    local_degrees: tuple[Degree, ...]
    voices: tuple[Voice, ...]
    voice_sure: tuple[float, ...]
    weights: Weights
    leans: tuple[Lean, ...]
    motives: tuple[Motive, ...]
    links: tuple[Link, ...]
    chains: tuple[Chain, ...]
    bridges: tuple[Bridge, ...]
    words: tuple[tuple[int, str], ...] = ()

    def __len__(self) -> int:
        return len(self.line)

    @cached_property
    def compound(self) -> bool:
        """Whether more than one line is implied anywhere."""
        return any(voice != "single" for voice in self.voices)

    @cached_property
    def _phrase_ends(self) -> list[int]:
        return [span.last for span in self.phrases]

    @cached_property
    def _gesture_ends(self) -> list[int]:
        return [span.last for span in self.gestures]

    def phrase_of(self, index: int) -> int:
        """Which phrase (0-based) holds the tone."""
        return bisect_left(self._phrase_ends, index)

    def gesture_of(self, index: int) -> int:
        """Which gesture (0-based) holds the tone."""
        return bisect_left(self._gesture_ends, index)

    def skeleton(self, depth: int) -> tuple[int, ...]:
        """Indexes of the tones that sound at this depth; a consistent cut of the tree. Depth 0 is the page."""
        return tuple(i for i, level in enumerate(self.weights.level) if level >= depth)
