"""The harmony a lone line implies: for every tone the chance that it belongs to the chord of its moment.

A hidden Markov chain over the chords of the home key, with the dominants of its degrees. A chord changes more readily
on a strong beat (Lerdahl & Jackendoff 1983, metrical preference rule 5f; Piston, *Harmony*, on harmonic rhythm), and
dominants move to their tonics. The numbers were set by hand and checked on half of the labelled chorales.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from earloop.reading.record import Key, Mode

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SHAPES = {"M": (0, 4, 7), "m": (0, 3, 7), "o": (0, 3, 6), "7": (0, 4, 7, 10)}
_CHORDS: dict[Mode, tuple[tuple[int, str, float], ...]] = {
    "major": (
        (0, "M", 0.6), (2, "m", -0.1), (4, "m", -1.0), (5, "M", 0.1), (7, "7", 0.6), (9, "m", -0.1), (11, "o", -1.0),
        (2, "7", -0.6), (4, "7", -0.8), (9, "7", -1.0), (0, "7", -1.2), (5, "m", -1.6), (10, "M", -1.6),
    ),
    "minor": (
        (0, "m", 0.6), (2, "o", -0.6), (3, "M", 0.0), (5, "m", 0.1), (7, "7", 0.5), (8, "M", -0.2), (10, "7", -0.1),
        (11, "o", -0.8), (7, "m", -0.8), (5, "7", -1.0), (0, "7", -1.0), (2, "7", -1.2), (8, "7", -1.6),
    ),
}  # fmt: skip
"""Root above the tonic, shape, and how ready the chord lies to hand (log odds)."""
_FIT = {0: 0.0, 3: 0.0, 4: 0.0, 6: -0.1, 7: -0.1, 10: -0.2}
_CHUNK, _MARGIN = 48, 16
_RESCALE = 8
"""Chances are brought back to sum to 1 every so many tones: a tone costs them nine nats at most."""


@dataclass(frozen=True)
class Implied:
    """`belongs` is the chance that a tone is a chord tone; `root` is the likeliest root's pitch class."""

    belongs: Floats
    root: Ints


@lru_cache(maxsize=2)
def _tables(mode: Mode) -> tuple[Floats, Floats, Floats, Ints]:
    """Fit of pitch classes to chords (12 x chords), transitions, first chances, roots."""
    chords = _CHORDS[mode]
    fit = np.full((12, len(chords)), np.nan)
    for k, (root, shape, _) in enumerate(chords):
        for above in _SHAPES[shape]:
            fit[(root + above) % 12, k] = _FIT[above]
    ready = np.array([odds for _, _, odds in chords])
    roots = np.array([root for root, _, _ in chords], dtype=np.int64)
    move = np.tile(ready, (len(chords), 1))
    for k, (root, shape, _) in enumerate(chords):
        falls = (root - roots) % 12 == 7
        move[k] += 0.5 * falls + (0.5 * falls if shape == "7" else 0.0)
        move[k] -= 0.8 * ((shape == "7") & ~falls & ((roots - root) % 12 != 2))
        move[k, k] = -9.0
    chance = np.exp(move)
    return fit, chance / chance.sum(axis=1, keepdims=True), np.exp(ready) / np.exp(ready).sum(), roots


def imply_harmony(pc: Ints, home: Key, change: Floats, cost: Floats) -> Implied:
    """Chord membership of every tone from the line alone.

    `change` is the chance that the harmony moves at the tone; `cost` what it costs (in nats) to be outside the chord.
    """
    fit, move, first, roots = _tables(home.mode)
    table = fit[(pc - home.pc) % 12]
    inside = ~np.isnan(table)
    odds = np.exp(np.where(inside, np.nan_to_num(table), -cost[:, None]))
    chance = _smooth(odds, move, first, change)
    belongs = np.clip((chance * inside).sum(axis=1), 0.0, 1.0)
    return Implied(belongs, (roots[chance.argmax(axis=1)] + home.pc) % 12)


def _smooth(odds: Floats, move: Floats, first: Floats, change: Floats) -> Floats:
    """Chances of every chord at every tone, given the whole line: forward and backward, overlapping chunks at once."""
    size, kinds = odds.shape
    chunks = -(-size // _CHUNK)
    reach = _CHUNK + 2 * _MARGIN
    at = np.arange(chunks)[:, None] * _CHUNK - _MARGIN + np.arange(reach)[None, :]
    real = (at >= 0) & (at < size)
    held = np.clip(at, 0, size - 1)
    seen = np.where(real[:, :, None], odds[held], 1.0).transpose(1, 0, 2)
    moves = np.where(real, change[held], 0.0).T[:, :, None]
    stays, back_move = 1 - moves, move.T.copy()
    ahead = np.empty_like(seen)
    now = np.tile(first, (chunks, 1))
    for t in range(reach):
        now = (stays[t] * now + moves[t] * (now @ move)) * seen[t]
        if t % _RESCALE == 0:
            now /= now.sum(axis=1, keepdims=True)
        ahead[t] = now
    back = np.ones((chunks, kinds))
    for t in range(reach - 1, -1, -1):
        ahead[t] *= back
        back = back * seen[t]
        back = stays[t] * back + moves[t] * (back @ back_move)
        if t % _RESCALE == 0:
            back /= back.sum(axis=1, keepdims=True)
    out: Floats = ahead[_MARGIN : _MARGIN + _CHUNK].transpose(1, 0, 2).reshape(-1, kinds)[:size]
    out /= out.sum(axis=1, keepdims=True)
    return out
