"""How a melody is sung: when each tone comes, how it swings and slides, and which faults are planted.

All of it is drawn from one seed. Vibrato up to ±80 cents at 4 to 7 Hz, slides, scoops, late entries, breaths and
a time that gives way are normal singing, not errors.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tests.bench.checking.melodies import Melody

Floats = NDArray[np.float64]
KINDS = ("degree", "60 cents", "swapped", "left out")
APART = 5
"""Tones from one planted fault to the next."""
BREATH = 0.3
SCALE = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}


@dataclass(frozen=True)
class Note:
    """What is sung for layer tone `index`: seconds, and a fractional key."""

    index: int
    onset: float
    length: float
    midi: float

    @property
    def end(self) -> float:
        return self.onset + self.length


@dataclass(frozen=True)
class Habits:
    """One singer's way: vibrato in cents either side and hertz, the slide in seconds, reverberation or not."""

    vibrato: float
    hertz: float
    slide: float
    phase: float
    seed: int


def habits(rng: np.random.Generator) -> Habits:
    return Habits(
        float(rng.uniform(0, 80)),
        float(rng.uniform(4, 7)),
        float(rng.uniform(0.03, 0.16)),
        float(rng.uniform(0, 6.28)),
        int(rng.integers(1 << 30)),
    )


def sung_right(melody: Melody, rng: np.random.Generator, spread: float = 8.0) -> list[Note]:
    """The melody in free time; each tone off by a few cents (`spread`, at most 20), as in any right singing."""
    second = 60 / melody.tempo
    length = max(e.onset + e.length for e in melody.events)
    swell, turn = rng.uniform(0, 0.12), rng.uniform(0, 6.28)
    grid = np.linspace(0, length, 400)
    pace = 1 + swell * np.sin(2 * np.pi * grid / max(length, 8) + turn)
    clock = np.concatenate([[0.0], np.cumsum((pace[1:] + pace[:-1]) / 2 * np.diff(grid))]) * second

    def when(quarter: float) -> float:
        return float(np.interp(quarter, grid, clock))

    notes, breath = [], 0.0
    for index, e in enumerate(melody.events):
        onset, end = when(e.onset), when(e.onset + e.length)
        long = end - onset
        late = rng.uniform(0.06, 0.18) if rng.random() < 0.06 and long > 0.45 else abs(rng.normal(0, 0.012))
        end -= min(0.25 * long, rng.uniform(0.0, 0.05))
        if end - breath > 4.5 and long > 0.6:
            end, breath = end - BREATH, end
        cents = float(np.clip(rng.normal(0, spread), -20, 20))
        notes.append(Note(index, 0.3 + onset + late, max(0.06, end - onset - late), e.midi + cents / 100))
    return _one_at_a_time(notes)


def _one_at_a_time(notes: list[Note]) -> list[Note]:
    out = []
    for note, after in zip(notes, [*notes[1:], None], strict=True):
        end = note.end if after is None else min(note.end, after.onset - 0.005)
        out.append(replace(note, length=max(0.04, end - note.onset)))
    return out


def planted(
    melody: Melody, notes: list[Note], rng: np.random.Generator
) -> tuple[list[Note], list[tuple[str, tuple[int, ...]]]]:
    """The same with faults at every fifth tone or so, and each fault's kind and layer tones."""
    out: list[Note | None] = list(notes)
    faults: list[tuple[str, tuple[int, ...]]] = []
    at, turn = int(rng.integers(0, 4)), int(rng.integers(0, 4))
    while at < len(notes):
        kind = KINDS[turn % 4]
        here = notes[at]
        meant = melody.events[at].midi
        if kind == "degree":
            out[at] = replace(here, midi=here.midi + _another_degree(melody, meant, rng))
        elif kind == "60 cents":
            out[at] = replace(here, midi=meant + float(rng.choice((-0.6, 0.6))))
        elif kind == "swapped":
            if at + 1 == len(notes) or (meant - melody.events[at + 1].midi) % 12 == 0:
                at += 1
                continue
            after = notes[at + 1]
            out[at], out[at + 1] = replace(here, midi=after.midi), replace(after, midi=here.midi)
        elif any(0 <= k < len(notes) and melody.events[k].midi == meant for k in (at - 1, at + 1)):
            turn += 1
            continue
        else:
            out[at] = None
        faults.append((kind, (at, at + 1) if kind == "swapped" else (at,)))
        turn, at = turn + 1, at + APART + int(rng.integers(0, 3))
    return [note for note in out if note is not None], faults


def _another_degree(melody: Melody, midi: int, rng: np.random.Generator) -> int:
    """Semitones to another degree of the home key, one to three degrees away."""
    key = melody.reading.home.key
    tones = [m for m in range(midi - 7, midi + 8) if (m - key.pc) % 12 in SCALE[key.mode]]
    below, above = [m for m in tones if m < midi][::-1], [m for m in tones if m > midi]
    side = below if rng.random() < 0.5 else above
    return side[int(rng.integers(0, 3))] - midi


def contour(notes: list[Note], ways: Habits, rate: int) -> tuple[Floats, Floats]:
    """The key and the loudness (0..1) at `rate` values a second."""
    rng = np.random.default_rng(ways.seed)
    size = int((notes[-1].end + 0.4) * rate)
    time = np.arange(size) / rate
    key = np.full(size, notes[0].midi)
    loud = np.zeros(size)
    for note in notes:
        key[int(note.onset * rate) :] = note.midi
        inside = slice(int(note.onset * rate), int(note.end * rate))
        since, left = time[inside] - note.onset, note.end - time[inside]
        attack, release = rng.uniform(0.02, 0.06), rng.uniform(0.03, 0.06)
        level = 10 ** (rng.uniform(-4, 0) / 20)
        loud[inside] = level * np.clip(np.minimum(since / attack, left / release), 0, 1)
    for before, note in pairwise(notes):
        _slide(key, before, note, ways.slide, rate)
    knots = np.arange(0, time[-1] + 0.2, 0.1)
    wander = np.interp(time, knots, rng.normal(0, 0.04, len(knots)))
    turn = 2 * np.pi * np.cumsum(ways.hertz * (1 + 0.5 * wander)) / rate + ways.phase
    return key + wander + ways.vibrato / 100 * np.sin(turn), loud


def _slide(key: Floats, before: Note, note: Note, slide: float, rate: int) -> None:
    if note.onset - before.end > 0.12:
        return
    long = min(slide, 0.4 * before.length, 0.4 * note.length)
    first, last = int((note.onset - long / 2) * rate), int((note.onset + long / 2) * rate)
    way = np.linspace(0, 1, max(1, last - first))
    key[first:last] = before.midi + (note.midi - before.midi) * (3 * way**2 - 2 * way**3)
