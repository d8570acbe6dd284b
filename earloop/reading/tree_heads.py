"""Which tone of a time-span stands for it: the preference every tone brings to the competition.

Each cue is one of the time-span reduction preference rules (TSRPR) of Lerdahl & Jackendoff 1983, ch. 7: metrical place
and length (1), nearness to the home chord and the moment's (2), registral extremes (3), goal and beginning (7, 8).
Human trees measured elsewhere say that length times beat strength leads by far, so the other cues decide near ties.
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
    "length": 0.7,
    "longer than its neighbors": 0.25,
    "beat": 0.6,
    "downbeat": 0.25,
    "on a counted beat": 0.1,
    "tonic": 0.35,
    "third": 0.1,
    "fifth": 0.2,
    "fourth or sixth": -0.2,
    "seventh": -0.2,
    "altered": -0.3,
    "outside the chord": -0.55,
    "peak": 0.1,
    "trough": 0.1,
    "repeats": -0.35,
    "before a rest": 0.6,
    "opens": 0.05,
    "closes": 0.25,
}
"""What each cue adds to the log-odds that the tone heads its span.

Set by hand within what a conditional logit (ridge towards length and beat) found on half of the plainer and more
ornamented forms that `tests/outside/variants.py` finds, and on measures read by hand (`tests/records/heads`).
Both are flat around it: no one cue but length and beat moves either by more than two in a hundred.
"""
_STABLE = {1: 0.4, 3: 0.3, 5: 0.3, 2: 0.0, 4: -0.1, 6: -0.1, 7: -0.2}
_ALTERED = -0.4
LAST = 0.5
"""TSRPR 7: closing the phrase, inside its last measure. Phrase ends are guesses, so this is worth less than a beat."""
_LONGEST = 1.5
"""Measures: a tone longer than this is no better for it."""
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
    around = 0.5 * (long[near.before] + long[near.after])
    come = columns.midi - columns.midi[near.before]
    go = columns.midi[near.after] - columns.midi
    number, altered = _numbers(degrees)
    plain = ~altered
    rows = (
        long,
        long - around,
        *_place_cues(pulse),
        plain & (number == 1),
        plain & (number == 3),
        plain & (number == 5),
        plain & ((number == 4) | (number == 6)),
        plain & (number == 7),
        altered,
        np.maximum(surface.outside - 0.2, 0.0),
        (come > 0) & (go < 0),
        (come < 0) & (go > 0),
        (come == 0) & ~near.begins,
        columns.gap > 0,
        near.begins,
        near.ends,
    )
    return np.column_stack([np.asarray(row, dtype=np.float64) for row in rows])


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
    """Preference above the measure: stability and place count more, length and beat less (TSRPR 6, 7, 8)."""
    wide: Floats = 0.5 * score + 2.0 * stable + 0.9 * goal + 0.4 * opening
    return wide
