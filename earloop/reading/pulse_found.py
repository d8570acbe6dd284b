"""The pulse that onsets imply where the score gives no meter: the likeliest meter and first downbeat, block by block.

A log-linear choice among the candidates of `pulse_evidence`, smoothed along the line so that a meter holds until the
evidence turns. WEIGHTS were fitted (maximum likelihood, ridge 0.003) on the bar lines of 1,160 tunes: the development
half of the Essen songs, Aird's, O'Neill's and Ryan's tunes, and eight-bar cuts of first-violin parts by Haydn, Mozart
and Beethoven, all as music21's corpus carries them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Meter
from earloop.reading.pulse_evidence import METERS, NAMES, TICKS, blocks_of, candidates, evidence
from earloop.reading.pulse_ladder import ladder

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

WEIGHTS = {
    "onset0": -0.97,
    "length0": 20.85,
    "growth0": 3.82,
    "onset1": 8.95,
    "length1": 12.87,
    "growth1": 2.36,
    "onset2": 1.73,
    "length2": 7.39,
    "growth2": -2.14,
    "onset3": -3.38,
    "length3": 2.16,
    "growth3": 2.22,
    "onset4": -4.52,
    "length4": -1.48,
    "growth4": 1.89,
    "held over a downbeat": -10.92,
    "held long over a downbeat": -28.01,
    "held over a half": -8.75,
    "ends on a downbeat": 0.15,
    "ends on a half": -0.09,
    "repeats by the measure": 1.08,
    "turns by the measure": 2.94,
    "repeats by two": 4.30,
    "turns by two": 2.28,
    "repeats by the half": 1.00,
    "turns by the half": 2.81,
    "size": 0.59,
    "size squared": -0.48,
    "no upbeat": -0.66,
    "upbeat": -5.64,
    "long upbeat": 0.12,
    "2/4": -0.60,
    "3/4": -1.34,
    "4/4": 2.09,
    "6/8": 0.04,
    "3/8": -4.66,
    "9/8": -0.73,
    "12/8": -1.20,
    "3/2": -0.43,
    "4/2": 3.81,
    "6/4": 0.18,
}
_HOLDS = 0.9
"""How likely a meter is to hold from one block of about 64 tones to the next."""
_VOTES = 6
"""How many of the likeliest candidates share in a tone's strength."""


@dataclass(frozen=True)
class FoundMeters:
    """The meters in use; for every tone which one it is in, where its first downbeat lies, how sure, and its strength.

    `reach` is the beat on which the tone falls as log2 of quarters, averaged over the likeliest meters.
    """

    meters: tuple[Meter, ...]
    which: Ints
    origin: Floats
    sure: Floats
    reach: Floats


def find_meters(columns: Columns) -> FoundMeters:
    """The likeliest meter around every tone."""
    kinds = candidates()
    chance = _along(evidence(columns) @ np.array([WEIGHTS[name] for name in NAMES]))
    block = blocks_of(columns.size)
    best = chance.argmax(axis=1)
    which = np.array([k for k, _ in kinds])
    start = np.array([at for _, at in kinds]) / TICKS
    sure = _agreement(chance, best)
    return FoundMeters(
        METERS,
        which[best][block],
        columns.onset[0] + start[best][block],
        sure[block],
        _reach(columns, chance, block),
    )


def _along(score: Floats) -> Floats:
    """Chances of the candidates in every block, given all blocks (forward and backward)."""
    seen = np.exp(score - score.max(axis=1, keepdims=True))
    ahead, back = np.empty_like(seen), np.ones(seen.shape[1])
    now = np.full(seen.shape[1], 1.0 / seen.shape[1])
    drift = (1.0 - _HOLDS) / seen.shape[1]
    for b in range(len(seen)):
        now = (_HOLDS * now + drift * now.sum()) * seen[b]
        now /= now.sum()
        ahead[b] = now
    for b in range(len(seen) - 1, -1, -1):
        ahead[b] *= back
        back = back * seen[b]
        back = _HOLDS * back + drift * back.sum()
        back /= back.sum()
    ahead /= ahead.sum(axis=1, keepdims=True)
    return np.asarray(ahead)


def _agreement(chance: Floats, best: Ints) -> Floats:
    """The chance that the downbeats are right: all candidates whose measures nest with the best one's."""
    kinds = candidates()
    bar = np.array([round(METERS[k].measure_length * TICKS) for k, _ in kinds])
    at = np.array([start for _, start in kinds])
    small = np.minimum(bar[:, None], bar[None, :])
    nest = (np.maximum(bar[:, None], bar[None, :]) % small == 0) & ((at[:, None] - at[None, :]) % small == 0)
    agreed: Floats = np.sum(chance * nest[best], axis=1)
    return agreed


def _reach(columns: Columns, chance: Floats, block: Ints) -> Floats:
    """Strength of every tone's place under the likeliest candidates of its block, as log2 of quarters."""
    kinds = candidates()
    order = np.argsort(-chance, axis=1)[:, :_VOTES]
    share = np.take_along_axis(chance, order, axis=1)
    share /= share.sum(axis=1, keepdims=True)
    time = columns.onset - columns.onset[0]
    out: Floats = np.zeros(columns.size)
    for c in np.unique(order):
        votes = np.where(order == c, share, 0.0).sum(axis=1)[block]
        tones = np.flatnonzero(votes)
        k, at = kinds[c]
        lengths = ladder(METERS[k])
        place = time[tones] - at / TICKS
        reach = np.full(len(tones), np.log2(lengths[0] * 0.7))
        for length in lengths:
            off = np.abs(place - np.round(place / length) * length)
            reach[off < min(0.03, length / 6)] = np.log2(length)
        out[tones] += votes[tones] * reach
    return out
