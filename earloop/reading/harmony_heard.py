"""What the other parts of the score sound with each tone: the harmony as written, where the line isn't alone.

A performer who has the whole score reads the line against it: what is dissonant there leans or decorates. A line
alone has no such evidence, and readers then go by what it implies (`implied.py`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading.line_at_hand import once_a_line

Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]
_SAME = 1e-4
"""Quarters. Nearer than this counts as together."""


@dataclass(frozen=True)
class HarmonyHeard:
    """One row a tone of the line, one column a pitch class (0 is C): whether another part sounds it …

    `struck`: beginning with the tone; `at_onset`: when the tone begins, struck or held from before; `at_end`: when it
    ends; `during`: at any time while it sounds. `bass` is the lowest other MIDI number when the tone begins, -1 for
    none; `bass_at_end` is the lowest that lasts until the tone ends. A grace note is heard at its main tone's onset.
    """

    struck: Flags
    at_onset: Flags
    at_end: Flags
    during: Flags
    bass: Ints
    bass_at_end: Ints

    @property
    def any(self) -> Flags:
        """Shape (tones,): whether anything at all sounds with the tone."""
        return np.asarray(self.during.any(axis=1), dtype=np.bool_)


@once_a_line
def harmony_heard(line: Line) -> HarmonyHeard | None:
    """What sounds with the line, or None where it is alone.

    Takes time in proportion to the tones of all parts and to how many pitches they have, however long they last.

    Found once for the line at hand.
    """
    if not line.others:
        return None
    return _heard(line)


def _heard(line: Line) -> HarmonyHeard:
    """By counting: of one pitch so many sound at a moment as have begun by then and not ended."""
    size = len(line)
    onset = line.columns.onset
    end = np.maximum(onset + line.columns.length, onset + 2 * _SAME)
    start = np.array([tone.onset for tone in line.others])
    stop = np.maximum(np.array([tone.end for tone in line.others]), start + 2 * _SAME)
    midi = np.array([tone.pitch.midi for tone in line.others], dtype=np.int64)
    struck, at_onset, at_end, during = (np.zeros((size, 12), dtype=np.bool_) for _ in range(4))
    bass, bass_at_end = np.full(size, -1, dtype=np.int64), np.full(size, -1, dtype=np.int64)
    for pitch in np.unique(midi):
        own = midi == pitch
        begun, over = np.sort(start[own]), np.sort(stop[own])
        begun_at_onset = np.searchsorted(begun, onset + _SAME, "right")
        over_at_onset = np.searchsorted(over, onset + _SAME, "right")
        begun_at_end = np.searchsorted(begun, end - _SAME)
        sounds = begun_at_onset > over_at_onset
        lasts = begun_at_end > np.searchsorted(over, end - _SAME)
        column = pitch % 12
        struck[:, column] |= begun_at_onset > np.searchsorted(begun, onset - _SAME)
        at_onset[:, column] |= sounds
        at_end[:, column] |= lasts
        during[:, column] |= begun_at_end > over_at_onset
        bass[sounds & (bass < 0)] = pitch
        bass_at_end[lasts & (bass_at_end < 0)] = pitch
    return HarmonyHeard(struck, at_onset, at_end, during, bass, bass_at_end)
