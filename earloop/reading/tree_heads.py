"""Which tone of a time-span stands for it: the preference every tone brings to the competition.

Each cue is one of the time-span reduction preference rules (TSRPR) of Lerdahl & Jackendoff 1983, ch. 7: metrical place
and length (1), nearness to the home chord and the moment's (2), registral extremes (3), goal and beginning (7, 8).
Length and beat lead by far. How a tone is come to and left tells what passes or leans on the next.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.figures import Surface
from earloop.reading.neighbours import Neighbours
from earloop.reading.pulse import Pulse
from earloop.reading.record import Degree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

SAYS = {
    "length": 0.57,
    "longer than the tone before": 0.00,
    "longer than the tone after": -0.01,
    "beat": 0.84,
    "downbeat": 0.43,
    "on a counted beat": 0.27,
    "stronger beat than the tone before": -0.15,
    "stronger beat than the tone after": 0.06,
    "tonic": 0.80,
    "second": -0.38,
    "third": 0.35,
    "fourth": -0.60,
    "fifth": 0.09,
    "sixth": -0.31,
    "seventh": -0.05,
    "altered": -0.67,
    "outside the chord": 0.34,
    "further outside than the tone before": -0.12,
    "peak": -0.13,
    "trough": -0.57,
    "repeats": -0.37,
    "is repeated": 0.14,
    "before a rest": 0.01,
    "opens": 0.04,
    "closes": -0.38,
    "first of all": 1.22,
    "last of all": 1.22,
    "come to by step": 0.85,
    "steps down": -0.53,
    "steps on": -0.76,
    "steps back": -0.09,
    "leapt to": 0.32,
    "comes back after one tone": -0.27,
    "will come back after one tone": 0.40,
}
"""What each cue adds to the log-odds that the tone governs one that has it not.

Fitted (`python -m tests.bench head_fit`: logistic on pairs, ridge towards numbers set by hand) to which tone governs
which in trees read by hand (tests/records/trees), with the meter and without, and with half their weight to measures
read by hand (tests/records/heads) and to half of the plainer and more ornamented forms that `tests/outside/variants.py`
finds. They go together: one that says little alone may say what another leaves over.
"""
_STABLE = {1: 0.4, 3: 0.3, 5: 0.3, 2: 0.0, 4: -0.1, 6: -0.1, 7: -0.2}
_ALTERED = -0.4
LAST = 0.5
"""TSRPR 7: closing the phrase, inside its last measure. Phrase ends are guesses, so this is worth less than a beat."""
_LONGEST = 1.5
"""Measures: a tone longer than this is no better for it."""
_LEAP = 4
"""Semitones: what is wider is a leap."""
_NEAR = 1e-3


def stability(degrees: tuple[Degree, ...]) -> Floats:
    """TSRPR 2: how close each tone is to the home chord."""
    table: dict[Degree, float] = {d: _STABLE[d.number] if d.alter == 0 else _ALTERED for d in set(degrees)}
    return np.array([table[d] for d in degrees])


def head_cues(
    columns: Columns, pulse: Pulse, near: Neighbours, surface: Surface, degrees: tuple[Degree, ...]
) -> Floats:
    """Shape (tones, cues): what each cue has to say, in the order of `SAYS`; lengths and beats in doublings."""
    reach = np.minimum(np.maximum(columns.ioi, 1e-3), _LONGEST * pulse.bar)
    long = np.log2(reach / pulse.bar)
    strength, outside = pulse.strength, surface.outside
    first = np.arange(columns.size) == 0
    rows = (
        long,
        long - long[near.before],
        long - long[near.after],
        *_place_cues(pulse),
        strength - strength[near.before],
        strength - strength[near.after],
        *_degree_cues(degrees),
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
    )
    return np.column_stack([np.asarray(row, dtype=np.float64) for row in rows])


def _degree_cues(degrees: tuple[Degree, ...]) -> list[Flags]:
    """Each of the home key's seven degrees, then tones outside it."""
    number, altered = _numbers(degrees)
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


def _moves(columns: Columns, near: Neighbours) -> tuple[Ints, Ints]:
    """Semitones from the tone before and to the tone after, 0 where there is none."""
    return columns.midi - columns.midi[near.before], columns.midi[near.after] - columns.midi


def _place_cues(pulse: Pulse) -> tuple[Floats, Floats, Floats]:
    counted = np.log2(pulse.beat / pulse.bar)
    down, on = pulse.strength > -_NEAR, pulse.strength > counted - _NEAR
    return pulse.strength, down.astype(np.float64), on.astype(np.float64)


def place_scores(pulse: Pulse) -> Floats:
    """What the places in the measure say alone, in log-odds."""
    says = (SAYS["beat"], SAYS["downbeat"], SAYS["on a counted beat"])
    return np.asarray(sum(weight * cue for weight, cue in zip(says, _place_cues(pulse), strict=True)))


def head_scores(cues: Floats) -> Floats:
    """How well every tone can stand for the time-span around it, in log-odds; higher wins."""
    return np.asarray(cues @ np.array(tuple(SAYS.values())))


def _numbers(degrees: tuple[Degree, ...]) -> tuple[Ints, Flags]:
    number = np.array([degree.number for degree in degrees], dtype=np.int64)
    altered = np.array([degree.alter != 0 for degree in degrees], dtype=np.bool_)
    return number, altered


def find_goals(score: Floats, stable: Floats, measure: Ints, phrase: Ints, leaf: Ints) -> Flags:
    """The tone each phrase goes to (TSRPR 7): the best of its last measure, with a strong pull of the last tone."""
    size = len(score)
    goal = np.zeros(size, dtype=np.bool_)
    full = np.flatnonzero(leaf < 0)
    if len(full) == 0:
        return goal
    closes = np.append(phrase[full][1:] != phrase[full][:-1], True)
    pull = score + 0.5 * stable
    pull[full[closes]] += LAST
    final = np.zeros(size, dtype=np.int64)
    final[phrase[full[closes]]] = measure[full[closes]]
    rivals = full[measure[full] == final[phrase[full]]]
    order = rivals[np.lexsort((pull[rivals], phrase[rivals]))]
    goal[order[np.append(phrase[order][1:] != phrase[order][:-1], True)]] = True
    return goal


def phrase_scores(score: Floats, stable: Floats, goal: Flags, opening: Flags) -> Floats:
    """Preference above the measure: stability and place in the phrase count more (TSRPR 6, 7, 8)."""
    wide: Floats = score + 0.5 * stable + 0.5 * goal + 0.2 * opening
    return wide
