"""How far each tone reaches where the beats themselves are a guess: its span, as expected over what the meter may be.

Every tone is taken to have one preference with chance around it (the conditional logit, McFadden 1974: the best of a
span is the one with the greatest sum), so that its chance to head a span is its share of the exponentials there, and no
tone is likelier to head a wide span than a narrow one inside it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading.pulse import Pulse
from earloop.reading.tree_grow import Groups
from earloop.reading.tree_heads import find_goals, place_scores
from earloop.reading.tree_spans import beat_spans, measure_spans

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SPREAD = 0.3
"""How much chance there is in a choice, against the spread of the fitted log-odds."""
_WIDE = 0.15
"""A doubling beyond the likely measure counts for this much of one below it."""


def expected_reach(length: Floats, pulse: Pulse, groups: Groups, placeless: Floats, stable: Floats) -> Floats:
    """Log2 of the time in quarters that each tone is likely to stand for, over the meters that may be right.

    `placeless` is each tone's preference without what its place in the measure says.
    """
    usual = np.zeros(len(length))
    for tones, share, way in pulse.ways:
        usual[tones] += share * np.log2(way.bar)
    total = np.zeros(len(length))
    for tones, share, way in pulse.ways:
        phrase = np.cumsum(np.append(0, np.diff(groups.phrase[tones]) != 0))
        own = Groups(phrase, groups.voice[tones], groups.leaf[tones])
        score = placeless[tones] + place_scores(way)
        total[tones] += share * _reach(length[tones], way, own, score, stable[tones], usual[tones])
    return total


def _reach(length: Floats, way: Pulse, groups: Groups, score: Floats, stable: Floats, usual: Floats) -> Floats:
    beats = beat_spans(length, way, groups.phrase)
    goal = find_goals(score, stable, beats[-1], groups.phrase, groups.leaf)
    mine = np.exp(np.where(groups.leaf >= 0, -99.0, score / _SPREAD + 99.0 * goal - score.max()))
    wide = np.log2(way.periods)
    total = wide[:, 0]
    chance = mine
    widths = [*wide.T, *(wide[:, -1] + k for k in (1, 2, 3))]
    before, lines = wide[:, 0], groups.lines
    for number, width in zip((*beats, *measure_spans(beats[-1], groups.phrase)), widths, strict=True):
        chance = _shares(mine, lines, number)
        total = total + chance * (width - before) * np.where(width < usual + 0.01, 1.0, _WIDE)
        before = width
    return total


def _shares(mine: Floats, lines: Ints, number: Ints) -> Floats:
    """Each tone's share of its span's sum."""
    _, span = np.unique(lines * (int(np.ptp(number)) + 1) + number - number.min(), return_inverse=True)
    return np.asarray(mine / np.maximum(np.bincount(span, mine)[span], 1e-300))
