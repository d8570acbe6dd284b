"""Which tone of a time-span stands for it: the preference every tone brings to the competition.

The cues of `tree_cues` are added up. Length and beat lead by far.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading.pulse import Pulse
from earloop.reading.tree_cues import place_cues

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

SAYS = {
    "length": 0.62,
    "longer than the tone before": -0.10,
    "longer than the tone after": -0.04,
    "beat": 0.96,
    "downbeat": 0.15,
    "on a counted beat": 0.31,
    "stronger beat than the tone before": -0.12,
    "stronger beat than the tone after": 0.13,
    "tonic": 0.62,
    "second": -0.25,
    "third": 0.41,
    "fourth": -0.60,
    "fifth": 0.13,
    "sixth": -0.21,
    "seventh": -0.03,
    "altered": -0.70,
    "outside the chord": 0.37,
    "further outside than the tone before": -0.08,
    "peak": -0.35,
    "trough": -0.32,
    "repeats": -0.35,
    "is repeated": 0.37,
    "before a rest": 0.08,
    "opens": 0.24,
    "closes": -0.50,
    "first of all": 0.79,
    "last of all": 1.32,
    "come to by step": 0.88,
    "steps down": 0.43,
    "steps on": -1.04,
    "steps back": -0.23,
    "leapt to": 0.56,
    "comes back after one tone": -0.42,
    "will come back after one tone": 0.37,
    "outside, on a stronger beat than the tone after": -1.08,
    "sounds again nearby": 0.34,
    "down by a semitone": -0.56,
    "steps down from a stronger beat": -0.75,
    "steps to a longer tone from a stronger beat": -1.77,
    "come to by a semitone up": 0.61,
    "last of its measure": -0.46,
    "closes, longer than the tone before": 0.15,
    "closes on the tonic": 1.63,
    "stronger beat than the tone after the next": 0.15,
}
"""What each cue adds to the log-odds that the tone governs one that has it not.

Fitted (`python -m tests.bench head_fit`: logistic on pairs, ridge towards numbers set by hand) to which tone governs
which in trees read by hand (tests/records/trees and its further ones), with the meter and without, and with half their
weight to measures read by hand (tests/records/heads) and to half of the plainer and more ornamented forms that
`tests/outside/variants.py` finds. They go together: one that says little alone may say what another leaves over.
"""


ACROSS = {
    "beat": 0.14,
    "come to by step": 0.38,
    "before a rest": 0.75,
    "opens": 0.40,
    "first of all": 0.67,
    "last of its measure": 0.58,
    "longer than the tone after": 0.17,
    "downbeat": 0.38,
    "stronger beat than the tone before": 0.15,
    "is repeated": -0.24,
    "tonic": -0.39,
}
"""What a cue counts more between tones that head spans of one width in different places.

There is no choice between them: a tone that has its time to itself (a phrase's beginning, TSRPR 8; a tone before a
rest; a measure's last) stands for that time, even where it would give way beside a better one; its degree matters
less. Fitted by the same bench to the tones that head measures and half measures by hand, by place and by time, against
all others of the passage.
"""


def place_scores(pulse: Pulse) -> Floats:
    """What the places in the measure say alone, in log-odds."""
    says = (SAYS["beat"], SAYS["downbeat"], SAYS["on a counted beat"])
    return np.asarray(sum(weight * cue for weight, cue in zip(says, place_cues(pulse), strict=True)))


def head_scores(cues: Floats) -> Floats:
    """How well every tone can stand for the time-span around it, in log-odds; higher wins."""
    return np.asarray(cues @ np.array(tuple(SAYS.values())))


def across_scores(cues: Floats, score: Floats) -> Floats:
    """How tones that head spans of one width weigh against each other, wherever they are; `score` is that of heads."""
    more = np.array([ACROSS.get(name, 0.0) for name in SAYS])
    return np.asarray(score + cues @ more)


def find_goals(score: Floats, stable: Floats, measure: Ints, phrase: Ints, leaf: Ints) -> Flags:
    """The tone each phrase goes to (TSRPR 7): the best of its last measure."""
    size = len(score)
    goal = np.zeros(size, dtype=np.bool_)
    full = np.flatnonzero(leaf < 0)
    if len(full) == 0:
        return goal
    closes = np.append(phrase[full][1:] != phrase[full][:-1], True)
    pull = phrase_scores(score, stable)
    final = np.zeros(size, dtype=np.int64)
    final[phrase[full[closes]]] = measure[full[closes]]
    rivals = full[measure[full] == final[phrase[full]]]
    order = rivals[np.lexsort((pull[rivals], phrase[rivals]))]
    goal[order[np.append(phrase[order][1:] != phrase[order][:-1], True)]] = True
    return goal


def phrase_scores(score: Floats, stable: Floats) -> Floats:
    """Preference above the measure: stability counts more (TSRPR 6)."""
    return np.asarray(score + 0.5 * stable)
