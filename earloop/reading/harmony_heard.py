"""What the other parts of the score sound with each tone: the harmony as written, where the line isn't alone.

A performer who has the whole score reads the line against it: what is dissonant there leans or decorates. A line
alone has no such evidence, and readers then go by what it implies (`implied.py`).
"""

from __future__ import annotations

import weakref
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line

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


class _Last:
    """The line that was asked about last, and what is heard with it: several readers ask in turn."""

    found: tuple[weakref.ref[Line], HarmonyHeard] | None = None


def harmony_heard(line: Line) -> HarmonyHeard | None:
    """What sounds with the line, or None where it is alone. Takes time in proportion to the tones of all parts.

    Found once for the line at hand.
    """
    if not line.others:
        return None
    last = _Last.found
    if last is not None and last[0]() is line:
        return last[1]
    heard = _heard(line)
    _Last.found = weakref.ref(line), heard
    return heard


def _heard(line: Line) -> HarmonyHeard:
    size = len(line)
    onset = line.columns.onset
    end = np.maximum(onset + line.columns.length, onset + 2 * _SAME)
    start = np.array([tone.onset for tone in line.others])
    stop = np.array([tone.end for tone in line.others])
    midi = np.array([tone.pitch.midi for tone in line.others], dtype=np.int64)
    # A grace note's end falls behind nothing: it stands at its main tone's onset.
    first = np.searchsorted(np.maximum.accumulate(end), start + _SAME)
    last = np.searchsorted(onset, stop - _SAME)
    counts = np.maximum(last - first, 0)
    other = np.repeat(np.arange(len(start)), counts)
    tone = np.arange(len(other)) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(first, counts)
    together = end[tone] > start[other] + _SAME
    other, tone = other[together], tone[together]
    begun = start[other] <= onset[tone] + _SAME

    def table(chosen: Flags) -> Flags:
        found = np.zeros((size, 12), dtype=np.bool_)
        found[tone[chosen], midi[other[chosen]] % 12] = True
        return found

    def lowest(chosen: Flags) -> Ints:
        found = np.full(size, 128, dtype=np.int64)
        np.minimum.at(found, tone[chosen], midi[other[chosen]])
        return np.where(found < 128, found, -1)

    lasting = stop[other] >= end[tone] - _SAME
    return HarmonyHeard(
        struck=table(begun & (start[other] >= onset[tone] - _SAME)),
        at_onset=table(begun),
        at_end=table(lasting),
        during=table(np.ones(len(other), dtype=np.bool_)),
        bass=lowest(begun),
        bass_at_end=lowest(lasting),
    )
