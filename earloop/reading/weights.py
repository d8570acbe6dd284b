"""The tree of the line: which tone each tone decorates, and the weights that follow from it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.figures import NAMES, find_figures, neighbours
from earloop.reading.pulse import find_pulse
from earloop.reading.record import Degree, Tonic, Voice, Weights
from earloop.reading.tree_grow import grow
from earloop.reading.tree_heads import head_scores
from earloop.reading.tree_levels import levels_of, weights_of
from earloop.reading.tree_spans import span_numbers

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_LINES: dict[Voice, int] = {"single": 0, "upper": 1, "middle": 2, "lower": 3}


def find_weights(
    line: Line,
    home: Tonic,
    phrases: tuple[Span, ...],
    degrees: tuple[Degree, ...],
    voices: tuple[Voice, ...],
    decided: Decisions = NONE_DECIDED,
) -> Weights:
    """The tree over the whole line, its weights, levels and figures."""
    columns = line.columns
    pulse = find_pulse(line)
    phrase = np.repeat(np.arange(len(phrases)), [len(span) for span in phrases])
    voice = np.array([_LINES[v] for v in voices])
    leaf = grace_hosts(columns, phrase)
    near = neighbours(phrase, voice, leaf)
    surface = find_figures(columns, home.key, pulse, near, leaf)
    score = head_scores(columns, pulse, phrase, degrees) - 0.8 * surface.outside
    goal = find_goals(columns, score, phrase, leaf)
    score = score + 6.0 * goal
    tree = grow(score, span_numbers(columns, pulse, phrase), phrase, voice, goal, leaf)
    weight = weights_of(tree, score)
    level = levels_of(weight, tree.height, columns.ioi, np.flatnonzero(goal))
    return Weights(
        tuple(tree.parent.tolist()),
        tuple(weight.tolist()),
        tuple(level.tolist()),
        tuple(NAMES[k] for k in surface.figure.tolist()),
        (0.5,) * len(line),
    )


def grace_hosts(columns: Columns, phrase: Ints) -> Ints:
    """For every grace tone the tone it leans on: the next full tone of its phrase, else the last one; -1 for the rest.

    Where a phrase has nothing but grace tones they count as full tones.
    """
    size = columns.size
    full = ~columns.grace
    whole = np.bincount(phrase, weights=full)[phrase] > 0
    leaf = np.full(size, -1, dtype=np.int64)
    graces = np.flatnonzero(columns.grace & whole)
    if len(graces) == 0:
        return leaf
    hosts = np.flatnonzero(full | ~whole)
    after = np.searchsorted(hosts, graces)
    following = hosts[np.minimum(after, len(hosts) - 1)]
    before = hosts[np.maximum(after - 1, 0)]
    leaf[graces] = np.where((following > graces) & (phrase[following] == phrase[graces]), following, before)
    return leaf


def find_goals(columns: Columns, score: Floats, phrase: Ints, leaf: Ints) -> NDArray[np.bool_]:
    """The tone each phrase goes to: its last full tone, or the one before where that is a mere afterbeat."""
    goal = np.zeros(columns.size, dtype=np.bool_)
    full = np.flatnonzero(leaf < 0)
    last = full[np.append(phrase[full][1:] != phrase[full][:-1], True)]
    goal[last] = True
    return goal
