"""Which tone of a time-span stands for it: the preference every tone brings to the competition.

Terms follow the time-span reduction preference rules (TSRPR) of Lerdahl & Jackendoff 1983, ch. 7, in octaves of length:
one point is worth a doubling of the time until the next onset. Set by hand from the rules; human trees measured
elsewhere say that length times beat strength leads by far, so the other terms only decide near ties.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.figures import Neighbours, Surface
from earloop.reading.pulse import Pulse
from earloop.reading.record import Degree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
_STABLE = {1: 0.4, 3: 0.3, 5: 0.3, 2: 0.0, 4: -0.1, 6: -0.1, 7: -0.2}
_ALTERED = -0.4
BEAT = 1.0
"""TSRPR 1: a place on a beat twice as wide counts as much as twice the length."""
OUTSIDE = 0.9
"""TSRPR 2: being outside the implied chord for certain."""
LAST = 1.8
"""TSRPR 7: closing the phrase, inside its last measure."""


def stability(degrees: tuple[Degree, ...]) -> Floats:
    """TSRPR 2: how close each tone is to the home chord."""
    table: dict[Degree, float] = {d: _STABLE[d.number] if d.alter == 0 else _ALTERED for d in set(degrees)}
    return np.array([table[d] for d in degrees])


def head_scores(columns: Columns, pulse: Pulse, near: Neighbours, surface: Surface, stable: Floats) -> Floats:
    """How well every tone can stand for the time-span around it; higher wins."""
    reach = np.minimum(np.maximum(columns.ioi, 1e-3), 1.5 * pulse.bar)
    long = np.log2(reach / pulse.bar)
    around = 0.5 * (long[near.before] + long[near.after])
    come = columns.midi - columns.midi[near.before]
    go = columns.midi[near.after] - columns.midi
    peak = 0.15 * ((come > 0) & (go < 0)) + 0.05 * ((come < 0) & (go > 0))
    repeated = -0.25 * ((come == 0) & ~near.begins)
    rest = 0.25 * (columns.gap > 0)
    score: Floats = long + 0.25 * (long - around) + BEAT * pulse.strength + stable + peak + repeated + rest
    score -= OUTSIDE * np.maximum(surface.outside - 0.2, 0.0)
    return score


def find_goals(score: Floats, stable: Floats, measure: Ints, phrase: Ints, leaf: Ints) -> Flags:
    """The tone each phrase goes to (TSRPR 7): the best of its last measure, with a strong pull of the last tone."""
    size = len(score)
    full = np.flatnonzero(leaf < 0)
    closes = np.append(phrase[full][1:] != phrase[full][:-1], True)
    pull = score + 0.5 * stable
    pull[full[closes]] += LAST
    final = np.zeros(size, dtype=np.int64)
    final[phrase[full[closes]]] = measure[full[closes]]
    rivals = full[measure[full] == final[phrase[full]]]
    order = rivals[np.lexsort((pull[rivals], phrase[rivals]))]
    goal = np.zeros(size, dtype=np.bool_)
    goal[order[np.append(phrase[order][1:] != phrase[order][:-1], True)]] = True
    return goal


def phrase_scores(score: Floats, stable: Floats, goal: Flags, opening: Flags) -> Floats:
    """Preference above the measure: stability and place count more, length and beat less (TSRPR 6, 7, 8)."""
    wide: Floats = 0.5 * score + 2.0 * stable + 0.9 * goal + 0.4 * opening
    return wide
