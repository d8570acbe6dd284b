"""Gestures that repeat an earlier one at another pitch, and the key in which such a copy keeps its model's degrees.

A copy has the intervals of its model, in letters or in semitones, and its rhythm; its last tone's length is free. Short
or plain shapes turn up by chance everywhere, so the less there is to recognise, the nearer the model has to be; and a
gesture of leaps alone is a broken chord or several lines woven together, which a sequence moves along inside its key.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Span
from earloop.reading.degrees import degree_of
from earloop.reading.record import Key, Mode

Ints = NDArray[np.int64]
Shape = tuple[tuple[int, ...], tuple[float, ...]]
_NEAR = 4
"""Gestures back to which four tones, or an even scale, are still recognised."""
_NATURAL = (0, 2, 4, -1, 1, 3, 5)


@dataclass(frozen=True, slots=True)
class Repeat:
    """Gesture `model` (an index) comes back; `exact` in semitones; `sure` falls with short and distant copies."""

    model: int
    exact: bool
    sure: float


def find_repeats(columns: Columns, heights: Ints, gestures: tuple[Span, ...]) -> tuple[Repeat | None, ...]:
    """For each gesture the first gesture it repeats, or None where it is new. Time is linear in the tones."""
    exact_steps, letter_steps = np.diff(columns.midi).tolist(), np.diff(heights).tolist()
    high, times = heights.tolist(), _relative_times(columns, gestures)
    latest: dict[tuple[str, Shape], int] = {}
    out: list[Repeat | None] = []
    for index, span in enumerate(gestures):
        first, last = span.first, span.last
        rhythm = tuple(times[first : last + (last == first + 1)])
        exact, letters = tuple(exact_steps[first:last]), tuple(letter_steps[first:last])
        found: Repeat | None = None
        keys = (("exact", (exact, rhythm)), ("letters", (letters, rhythm)))
        for key in keys if any(exact) else ():
            before = latest.get(key)
            step = 0 if before is None else abs(high[first] - high[gestures[before].first])
            if before is not None and _recognised(letters, rhythm, index - before, step, key[0] == "exact"):
                root = out[before]
                sure = min(0.95, 0.6 + 0.07 * len(exact)) - min(0.2, 0.01 * (index - before - 1))
                same = key[0] == "exact" and (root is None or root.exact)
                found = Repeat(before if root is None else root.model, same, sure)
                break
        out.append(found)
        for key in keys:
            latest[key] = index
    return tuple(out)


def key_of_copy(model: tuple[Ints, Key], copy: Ints, repeat: Repeat, around: Key) -> Key:
    """The key in which the copy's tones have the degrees that the model's tones have in theirs.

    `model` holds the model's places on the line of fifths and its key, `copy` the copy's places; `around` is the key
    of the passage, whose scale gives the tonic where the copy does not touch it.
    """
    places, key = model
    if repeat.exact:
        return Key(key.fifths + int(copy[0] - places[0]), key.mode)
    at_tonic = np.flatnonzero(places == key.fifths)
    if at_tonic.size:
        tonic = int(copy[at_tonic[0]])
    else:
        letter = (key.fifths + int(copy[0] - places[0])) * 4 % 7
        tonic = _in_scale(letter, around)
    third = _in_scale((tonic * 4 + 2) % 7, around)
    likely: Mode = "minor" if third - tonic == -3 else "major"
    modes: tuple[Mode, Mode] = (likely, "major" if likely == "minor" else "minor")
    theirs = [degree_of(place, key) for place in places.tolist()]
    counts = []
    for mode in modes:
        own = [degree_of(place, Key(tonic, mode)) for place in copy.tolist()]
        counts.append(sum(a != b for a, b in zip(theirs, own, strict=True)))
    return Key(tonic, modes[counts.index(min(counts))])


def _in_scale(letter: int, key: Key) -> int:
    """The place on the line of fifths of a letter (0 is C) in a key's signature."""
    highest = key.signature + 5
    return _NATURAL[letter] + 7 * ((highest - _NATURAL[letter]) // 7)


def _relative_times(columns: Columns, gestures: tuple[Span, ...]) -> list[float]:
    """Each tone's time to the next onset against that of its gesture's first tone."""
    firsts = np.array([span.first for span in gestures])
    units = columns.ioi[firsts]
    units = np.where(units > 0, units, 1.0)
    sizes = np.diff(np.append(firsts, columns.size))
    times: list[float] = np.round(columns.ioi / np.repeat(units, sizes), 2).tolist()
    return times


def _recognised(letters: tuple[int, ...], rhythm: tuple[float, ...], back: int, step: int, exact: bool) -> bool:
    """Whether a shape is enough to be known again `back` gestures later, `step` letters away.

    Two or three tones make a little key only in a sequence, one step at once after the other (common practice, no
    source).
    """
    tones = len(letters) + 1
    if all(abs(step) > 1 for step in letters):
        return exact and tones > 3
    if tones == 2:
        return back == 1 and step <= 1 and abs(letters[0]) == 1 and len(set(rhythm)) > 1
    if tones == 3:
        # A tone, its neighbor and the tone again have no key of their own.
        return back == 1 and step <= 1 and sum(letters) != 0
    even = len(set(rhythm)) == 1
    if tones == 4:
        return back <= (1 if even else _NEAR)
    return back <= _NEAR or not (even and len(set(letters)) == 1)
