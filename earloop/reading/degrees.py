"""Scale degrees above a tonic.

A degree counts letters. Where the letters are only guessed (`spelled` is False: MIDI keys), they are chosen here for
the key that was found: the raised 6 and 7 of minor stay raised, ♯4 stays the way to 5, and another chromatic tone that
goes on by semitone takes the letter that makes it a step (`earloop.line.spelling` names the sources).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.line.spelling import places_in_key
from earloop.reading.record import Degree, Key, LocalKey

Ints = NDArray[np.int64]
_FIFTHS = {"major": (0, 2, 4, -1, 1, 3, 5), "minor": (0, 2, -3, -1, 1, -4, -2)}
_BY_MODE = np.array((_FIFTHS["major"], _FIFTHS["minor"]))
_NATURAL = np.array((0, 2, 4, 5, 7, 9, 11))


def degrees_in(columns: Columns, key: Key, spelled: bool = True) -> tuple[Degree, ...]:
    """Each tone's degree in one key. Degrees count letters; `alter` is against major or natural minor."""
    places = columns.fifths if spelled else places_for(columns, key)
    return _degrees(places - key.fifths, np.full(columns.size, key.mode == "minor"))


def numbers_of(degrees: tuple[Degree, ...]) -> tuple[Ints, Ints]:
    """Number and alteration of each degree."""
    number = np.array([degree.number for degree in degrees], dtype=np.int64)
    return number, np.array([degree.alter for degree in degrees], dtype=np.int64)


def degree_of(fifths: int, key: Key) -> Degree:
    """Degree of a spelled pitch (place on the line of fifths) in a key."""
    above = fifths - key.fifths
    number = above * 4 % 7 + 1
    alter = (above - _FIFTHS[key.mode][number - 1]) // 7
    return Degree(number, alter)


def local_degrees(columns: Columns, local: tuple[LocalKey, ...], spelled: bool = True) -> tuple[Degree, ...]:
    """Each tone's degree in the key of its own gesture."""
    sizes = [len(part.span) for part in local]
    tonic = np.repeat([part.key.fifths for part in local], sizes)
    minor = np.repeat([part.key.mode == "minor" for part in local], sizes)
    places = columns.fifths
    if not spelled:
        last = np.repeat([part.span.last for part in local], sizes)
        places = places_in_key(columns.midi, _going(columns, last), tonic - 3 * minor, minor)
    return _degrees(places - tonic, minor)


def places_for(columns: Columns, key: Key) -> Ints:
    """Places on the line of fifths of tones whose letters are chosen for one key."""
    going = _going(columns, np.full(columns.size, columns.size - 1))
    return places_in_key(columns.midi, going, key.signature, key.mode == "minor")


def heights_of(midi: Ints, places: Ints) -> Ints:
    """Diatonic heights (letters counted from C0) of MIDI keys whose places on the line of fifths are known."""
    step, alter = places * 4 % 7, (places + 1) // 7
    result: Ints = 7 * ((midi - _NATURAL[step] - alter) // 12 - 1) + step
    return result


def _going(columns: Columns, last: Ints) -> Ints:
    """Semitones to the next tone on another key, no further on than `last` (an index for each tone); else 0.

    The key of a gesture is its own: what follows it has no say in its letters.
    """
    midi, index = columns.midi, np.arange(columns.size)
    changes = np.append(np.flatnonzero(np.diff(midi)) + 1, columns.size)
    ahead = changes[np.searchsorted(changes, index, side="right")]
    inside = ahead <= last
    result: Ints = np.where(inside, midi[np.minimum(ahead, columns.size - 1)] - midi, 0)
    return result


def _degrees(above: Ints, minor: NDArray[np.bool_]) -> tuple[Degree, ...]:
    """Degrees for places counted from each tone's tonic."""
    number = above * 4 % 7
    alter = (above - _BY_MODE[minor.astype(np.int64), number]) // 7
    table: dict[tuple[int, int], Degree] = {}
    out = []
    for pair in zip(number.tolist(), alter.tolist(), strict=True):
        degree = table.get(pair)
        if degree is None:
            degree = table[pair] = Degree(pair[0] + 1, pair[1])
        out.append(degree)
    return tuple(out)
