"""What speaks for each tone as the head of a time-span: its place, length, degree, and how it is come to and left.

Each cue is one of the time-span reduction preference rules (TSRPR) of Lerdahl & Jackendoff 1983, ch. 7: metrical place
and length (1), nearness to the home chord and the moment's (2), registral extremes (3), goal and beginning (7, 8). How
a tone is come to and left tells what passes or leans on the next.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.degrees import numbers_of
from earloop.reading.figures import Surface
from earloop.reading.neighbours import Neighbours
from earloop.reading.pulse import Pulse
from earloop.reading.record import Degree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_STABLE = {1: 0.4, 3: 0.3, 5: 0.3, 2: 0.0, 4: -0.1, 6: -0.1, 7: -0.2}
_ALTERED = -0.4
_LONGEST = 1.5
"""Measures: a tone longer than this is no better for it."""
_LEAP = 4
"""Semitones: what is wider is a leap."""
_AROUND = 4
"""As many tones on either side are near."""
_LONG_AGAIN = 2.0
"""Measures: a pitch that sounds for longer nearby is no better for it."""
_LONGER = 0.1
"""Doublings: what differs by less is as long."""
_NEAR = 1e-3


def stability(degrees: tuple[Degree, ...]) -> Floats:
    """TSRPR 2: how close each tone is to the home chord."""
    table: dict[Degree, float] = {d: _STABLE[d.number] if d.alter == 0 else _ALTERED for d in set(degrees)}
    return np.array([table[d] for d in degrees])


def head_cues(
    columns: Columns, pulse: Pulse, near: Neighbours, surface: Surface, degrees: tuple[Degree, ...]
) -> Floats:
    """Shape (tones, cues): what each cue says, in the order of `tree_heads.SAYS`; lengths and beats in doublings."""
    reach = np.minimum(np.maximum(columns.ioi, 1e-3), _LONGEST * pulse.bar)
    long = np.log2(reach / pulse.bar)
    strength, outside = pulse.strength, surface.outside
    first, home = np.arange(columns.size) == 0, _degree_cues(degrees)
    rows = (
        long,
        long - long[near.before],
        long - long[near.after],
        *place_cues(pulse),
        strength - strength[near.before],
        strength - strength[near.after],
        *home,
        outside,
        outside - outside[near.before],
        *_shape_cues(columns, near),
        columns.gap > 0,
        near.begins,
        near.ends,
        first,
        first[::-1],
        *_step_cues(columns, near),
        *_return_cues(columns, near),
        outside * (strength > strength[near.after] + _NEAR),
        _sounds_again(columns, pulse),
        *_lean_cues(columns, pulse, near, long),
        np.append(np.diff(pulse.measure) != 0, True),
        near.ends * (long - long[near.before]),
        near.ends & home[0],
        strength - strength[near.after[near.after]],
    )
    return np.column_stack([np.asarray(row, dtype=np.float64) for row in rows])


def _degree_cues(degrees: tuple[Degree, ...]) -> list[Flags]:
    """Each of the home key's seven degrees, then tones outside it."""
    number, alter = numbers_of(degrees)
    altered = alter != 0
    return [*(~altered & (number == k) for k in range(1, 8)), altered]


def _shape_cues(columns: Columns, near: Neighbours) -> tuple[Flags, ...]:
    """Peak, trough, a pitch struck again, a pitch to be struck again."""
    come, go = _moves(columns, near)
    again, to_come = (come == 0) & ~near.begins, (go == 0) & ~near.ends
    return (come > 0) & (go < 0), (come < 0) & (go > 0), again, to_come


def _step_cues(columns: Columns, near: Neighbours) -> tuple[Flags, ...]:
    """Come to by step; left by a step down; between two steps one way; between a step and its way back; leapt to."""
    come, go = _moves(columns, near)
    by_step, on_by_step = (come != 0) & (np.abs(come) <= 2), (go != 0) & (np.abs(go) <= 2)
    return (
        by_step,
        on_by_step & (go < 0),
        by_step & on_by_step & (come * go > 0),
        by_step & on_by_step & (come == -go),
        np.abs(come) > _LEAP,
    )


def _return_cues(columns: Columns, near: Neighbours) -> tuple[Flags, Flags]:
    """The pitch of the tone before the last, with another between; the pitch of the tone after the next."""
    come, go = _moves(columns, near)
    came, goes = come[near.before], go[near.after]
    return (come != 0) & (come + came == 0), (go != 0) & (go + goes == 0)


def _lean_cues(columns: Columns, pulse: Pulse, near: Neighbours, long: Floats) -> tuple[Flags, ...]:
    """Left by a semitone down; by a step down to a weaker beat; by step to a longer tone there; a semitone up to it."""
    come, go = _moves(columns, near)
    weaker = pulse.strength > pulse.strength[near.after] + _NEAR
    longer = long[near.after] > long + _LONGER
    by_step = (go != 0) & (np.abs(go) <= 2)
    return go == -1, by_step & weaker & (go < 0), by_step & weaker & longer, come == 1


def _sounds_again(columns: Columns, pulse: Pulse) -> Floats:
    """For how long the tone's pitch class sounds in the tones around it, in measures."""
    letter, time = columns.midi % 12, columns.ioi / pulse.bar
    out = np.zeros(columns.size)
    for away in range(1, _AROUND + 1):
        same = letter[away:] == letter[:-away]
        out[:-away] += same * time[away:]
        out[away:] += same * time[:-away]
    return np.minimum(out, _LONG_AGAIN)


def _moves(columns: Columns, near: Neighbours) -> tuple[Ints, Ints]:
    """Semitones from the tone before and to the tone after, 0 where there is none."""
    return columns.midi - columns.midi[near.before], columns.midi[near.after] - columns.midi


def place_cues(pulse: Pulse) -> tuple[Floats, Floats, Floats]:
    """Strength of the beat; on a downbeat; on a counted beat."""
    counted = np.log2(pulse.beat / pulse.bar)
    down, on = pulse.strength > -_NEAR, pulse.strength > counted - _NEAR
    return pulse.strength, down.astype(np.float64), on.astype(np.float64)
