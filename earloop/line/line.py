"""The line: tones in order of onset, one at a time, and what is known of its key and meter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from earloop.line.tone import OtherTone, Tone

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Span:
    """Tones `first` to `last`, both included, by index."""

    first: int
    last: int

    def __len__(self) -> int:
        return self.last - self.first + 1

    def __contains__(self, index: int) -> bool:
        return self.first <= index <= self.last

    @property
    def indexes(self) -> range:
        return range(self.first, self.last + 1)


@dataclass(frozen=True, slots=True)
class Meter:
    """`beats` of 1/`unit` a measure; `first_downbeat` in quarters from the line's start."""

    beats: int
    unit: int
    first_downbeat: float = 0.0

    @property
    def measure_length(self) -> float:
        return 4.0 * self.beats / self.unit


@dataclass(frozen=True)
class Columns:
    """The line as numpy columns, one value a tone: what readers work on.

    `gap` is the silence in quarters after the tone until the next (0 after the last). `interval[i]` is the
    semitones from tone i-1 to tone i (0 at the first). `ioi` is the time to the next onset; the last tone's
    is its own length. `step` is the letter 0..6 of the spelling and `height` its diatonic height (Pitch.height).
    """

    onset: Floats
    length: Floats
    midi: Ints
    fifths: Ints
    height: Ints
    interval: Ints
    ioi: Floats
    gap: Floats
    grace: Flags

    @property
    def size(self) -> int:
        return len(self.midi)


@dataclass(frozen=True)
class Line:
    """A melody. Tones are in order; grace notes stand before their main tone at the same onset.

    `meters` is empty where the music is unmetered. `fifths` and `mode` are the score's own key signature, if it
    has one and says so (a signature without a mode leaves `mode` empty). `spelled` is False where the spelling is
    a guess, as from a MIDI file. `notes` are sentences for the user about what was decided while reading
    the score (part chosen, chords reduced …). `others` are the tones that sound with the line in its score (other
    parts, lower tones of its chords), by onset: readers may hear them as the harmony, no layer sounds them.
    """

    tones: tuple[Tone, ...]
    title: str = ""
    part: str = ""
    source: str = ""
    meters: tuple[tuple[float, Meter], ...] = ()
    fifths: int | None = None
    mode: str = ""
    tempo: float | None = None
    spelled: bool = True
    notes: tuple[str, ...] = field(default=())
    others: tuple[OtherTone, ...] = field(default=(), repr=False)

    def __post_init__(self) -> None:
        if not self.tones:
            raise ValueError("a line needs at least one tone")

    def __len__(self) -> int:
        return len(self.tones)

    def __getitem__(self, index: int) -> Tone:
        return self.tones[index]

    @property
    def end(self) -> float:
        """Quarters from the start to the end of the last tone."""
        return max(tone.end for tone in self.tones[-2:])

    @property
    def whole(self) -> Span:
        return Span(0, len(self.tones) - 1)

    @property
    def meter(self) -> Meter | None:
        """The first meter, or None where the line is unmetered."""
        return self.meters[0][1] if self.meters else None

    @cached_property
    def columns(self) -> Columns:
        """The line as numpy columns, made once."""
        return _columns(self.tones)

    def cut(self, span: Span) -> Line:
        """The tones of `span` as a line of its own, starting at onset 0."""
        start = self.tones[span.first].onset
        tones = tuple(replace(t, onset=t.onset - start) for t in self.tones[span.first : span.last + 1])
        meters = tuple(
            (at - start, replace(meter, first_downbeat=meter.first_downbeat - start)) for at, meter in self.meters
        )
        end = self.tones[span.last].end
        others = tuple(replace(t, onset=t.onset - start) for t in self.others if t.end > start and t.onset < end)
        return replace(self, tones=tones, meters=meters, others=others)

    def transposed(self, steps: int, semitones: int) -> Line:
        """The same line `steps` letters and `semitones` semitones higher."""
        tones = tuple(
            replace(
                t,
                pitch=t.pitch.moved(steps, semitones),
                written=t.written.moved(steps, semitones) if t.written else None,
            )
            for t in self.tones
        )
        fifths = None if self.fifths is None else self.fifths + _fifths_of_move(steps, semitones)
        others = tuple(replace(t, pitch=t.pitch.moved(steps, semitones)) for t in self.others)
        return replace(self, tones=tones, fifths=fifths, others=others)


def _fifths_of_move(steps: int, semitones: int) -> int:
    """How far a move of `steps` letters and `semitones` semitones goes on the line of fifths."""
    octaves, step = divmod(steps, 7)
    plain = (0, 2, 4, -1, 1, 3, 5)[step]
    natural = 12 * octaves + (0, 2, 4, 5, 7, 9, 11)[step]
    return plain + 7 * (semitones - natural)


def _columns(tones: Sequence[Tone]) -> Columns:
    onset = np.array([t.onset for t in tones], dtype=np.float64)
    length = np.array([t.length for t in tones], dtype=np.float64)
    midi = np.array([t.pitch.midi for t in tones], dtype=np.int64)
    ioi = np.append(np.diff(onset), length[-1])
    gap = np.append(np.maximum(0.0, onset[1:] - onset[:-1] - length[:-1]), 0.0)
    gap[gap < 1e-4] = 0.0
    return Columns(
        onset=onset,
        length=length,
        midi=midi,
        fifths=np.array([t.pitch.fifths for t in tones], dtype=np.int64),
        height=np.array([t.pitch.height for t in tones], dtype=np.int64),
        interval=np.diff(midi, prepend=midi[0]),
        ioi=ioi,
        gap=gap,
        grace=np.array([t.grace for t in tones], dtype=np.bool_),
    )
