"""All four voices of the labelled chorales as lines of their scores, each with the other three sounding with it.

A voice is loaded as a player loads it; the analysts' chords tell which of its tones lie outside (`chorale_figures`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from chorale_figures import NAMES, Chorale, Chord, chorales, chord_at, label
from numpy.typing import NDArray

from earloop.line import Line
from earloop.scores import list_parts, load_line

DECORATING = ("passing", "neighbor", "suspension", "retardation", "appoggiatura", "anticipation", "escape", "pedal")


@dataclass(frozen=True)
class Part:
    """One voice of a chorale: its line from the score, the chords on its time, and the labels as in `Chorale`."""

    chorale: str
    voice: str
    line: Line
    chords: tuple[Chord, ...]
    truth: tuple[str, ...]

    @property
    def outside(self) -> NDArray[np.float64]:
        """1 for a tone outside the analysts' chord, 0 for a member, nan where there is no chord yet."""
        found = [chord_at(self.chords, tone.onset) for tone in self.line.tones]
        return np.array(
            [
                np.nan if chord is None else float(tone.midi % 12 not in chord.members)
                for tone, chord in zip(self.line.tones, found, strict=True)
            ]
        )

    @property
    def handbook(self) -> tuple[str, ...]:
        """Each tone's name by the analysts' chords and the handbooks' table of approach and departure."""
        return tuple(_handbook(self.line, self.chords, i) for i in range(len(self.line)))


@lru_cache(maxsize=2)
def parts(half: str) -> tuple[Part, ...]:
    """The four voices of every chorale of one half, soprano first."""
    return tuple(_part(work, voice) for work in chorales(half) for voice in range(4))


def _part(work: Chorale, voice: int) -> Part:
    named = [part.number for part in list_parts(work.score) if part.name.startswith(NAMES[voice])]
    line = load_line(work.score, part=named[0] if named else voice + 1)
    shift = -work.voices[voice][0].onset
    assert [tone.midi for tone in line.tones] == [tone.midi for tone in work.voices[voice]]
    chords = tuple(chord.moved(shift, 0) for chord in work.chords)
    return Part(work.name, NAMES[voice], line, chords, tuple(label(line, chords, i) for i in range(len(line))))


def _handbook(line: Line, chords: Sequence[Chord], i: int) -> str:
    """After the table of Kostka & Payne, *Tonal Harmony* (from memory); a suspension may be tied to its preparation."""
    tone, chord = line[i], chord_at(chords, line[i].onset)
    if chord is None or not 0 < i < len(line) - 1:
        return ""
    come = tone.pitch.height - line[i - 1].pitch.height
    go = line[i + 1].pitch.height - tone.pitch.height
    if tone.midi % 12 in chord.members:
        last = chord_at(chords, tone.end - 0.01)
        held = last is not None and tone.midi % 12 not in last.members and line[i + 1].midi % 12 in last.members
        return ("suspension" if go < 0 else "retardation") if held and abs(go) == 1 else "chord"
    if come == 0:
        return {0: "pedal", -1: "suspension", 1: "retardation"}.get(go, "other")
    if go == 0:
        return "anticipation"
    if abs(come) == abs(go) == 1:
        return "passing" if come == go else "neighbor"
    back = come * go < 0
    if back and abs(go) == 1:
        return "appoggiatura"
    return "escape" if back and abs(come) == 1 else "other"
