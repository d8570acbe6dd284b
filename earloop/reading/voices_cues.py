"""What speaks for a tone going on in its line or changing lines, as log-weights over windowed states.

A state is (line of the tone, how many tones back the other line last sounded). Sources of the cues: steps bind and
leaps split (Bregman 1990; van Noorden 1975); lines seldom cross and a line goes on from where it was (Huron 2001);
two lines stand in consonances (any counterpoint handbook); an ornament stays with the tone it decorates.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from earloop.reading import voices_tables as tables

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
Number = TypeVar("Number", np.int64, np.float64)

WINDOW = 20
"""How many tones back a line is remembered; older than that it counts as lost."""
GROUPS = 4
"""Runs are counted in groups 1, 2, 3 and 4 or more."""
_WIDE = 22
_UNKNOWN = 2 * _WIDE


@dataclass(frozen=True)
class Cues:
    """Factors (exponentials of log-weights) of each tone's moves; N tones, L the window, G groups.

    `on` [N, 2, L]: the tone stays in its line (0 upper, 1 lower), the other line having sounded l+1 tones before
    the tone before. `change` [N, 2, L]: it enters that line so. `kept` [N, L, 2]: the direction it takes up
    again, after a last run of one group, of more. `groups` [N, L]: groups, from 0, of the run that ends at the tone.
    """

    on: Singles
    change: Singles
    kept: Singles
    groups: Ints


def find_cues(midi: Ints, length: Floats) -> Cues:
    """The cues of every tone from pitches (MIDI keys) and lengths (quarters)."""
    size = len(midi)
    lags = np.arange(1, WINDOW + 2)
    known = (np.arange(size)[:, None] >= lags) & (lags <= WINDOW)
    moved = np.where(known, midi[:, None] - _behind(midi), 0)
    # Standing on one's own side of the other line's tone: above it for the upper line, below for the lower.
    above = np.where(known, np.clip(moved, -_WIDE, _WIDE - 1) + _WIDE, _UNKNOWN)
    below = np.where(known, np.clip(-moved, -_WIDE, _WIDE - 1) + _WIDE, _UNKNOWN)
    wide = np.where(known, np.minimum(np.abs(moved), 15), 16)
    neighbor, leaning, local = _figures(midi, length)
    on = np.stack([_STAND_ON.take(above[:, 1:]), _STAND_ON.take(below[:, 1:])], axis=1)
    on += _STEP_ON[wide[:, 0]][:, None, None]
    motion = _kind(np.diff(midi, prepend=midi[0]))
    on[:, :, 1:] += _GOES_ON[_TURN[np.append(_STAYS, motion[:-1]), motion]][:, None, None]
    across = _STEP_ACROSS.take(wide[:, 1:]) + _LAG[1:] + _lengths_across(length, known)[:, 1:]
    change = np.stack([_STAND_ACROSS[above[:, 0]], _STAND_ACROSS[below[:, 0]]], axis=1)[:, :, None]
    change = change + (across + local.astype(np.float32)[:, None])[:, None, :]
    turn = np.where(known, _TURN.take(_behind(motion) * len(_TURN) + _kind(moved)), _NO_TURN)[:, 1:]
    kept = np.stack([weights.take(turn) for weights in _GOES_ON_ACROSS], axis=2)
    return Cues(np.exp(on), np.exp(change), np.exp(kept), _groups(neighbor, leaning))


def _behind(values: NDArray[Number]) -> NDArray[Number]:
    """A view [N, WINDOW + 1] of what the tones before each tone have, the nearest first; 0 before the line."""
    padded = np.concatenate([np.zeros(WINDOW + 1, dtype=values.dtype), values[:-1]])
    return np.lib.stride_tricks.sliding_window_view(padded, WINDOW + 1)[:, ::-1]


def _single(numbers: ArrayLike) -> Singles:
    """Weights in single floats: half the memory to pass through, and more exact than they were fitted."""
    return np.array(numbers, dtype=np.float32)


def _stand(numbers: tuple[float, ...]) -> Singles:
    """A table over signed distance, from the sixteen numbers of its parts."""
    weights, distance = np.array(numbers), np.arange(-_WIDE, _WIDE)
    crossed = distance < 0
    table = weights[np.abs(distance) % 12] + weights[12] * crossed + weights[15] * (distance == 0)
    table += weights[13] * np.where(crossed, np.minimum(-distance, 12), 0) / 12
    table += weights[14] * np.clip(distance, 0, 21) / 12
    return np.append(table, 0.0).astype(np.float32)


_STEP_ON, _STEP_ACROSS = _single(tables.STEP_ON), _single(tables.STEP_ACROSS)
_STAND_ON, _STAND_ACROSS = _stand(tables.STAND_ON), _stand(tables.STAND_ACROSS)
_GOES_ON, _GOES_ON_ACROSS = _single(tables.GOES_ON), _single(tables.GOES_ON_ACROSS)
_LENGTH_ACROSS = _single(tables.LENGTH_ACROSS)
_LAG = _single(tables.LAG[0] * np.log2(np.arange(1, WINDOW + 2)) + tables.LAG[1] * (np.arange(1, WINDOW + 2) == 2))


def _turned(first: int, second: int) -> int:
    """The place in the goes-on tables of two motions of sizes -2..2, both mirrored where the first that moves falls."""
    way = -1 if (first or second) < 0 else 1
    return first * way * 5 + second * way + 2


_KIND = np.array([2, 3, 3, 4, 0, 1, 1])
"""Size and direction of a motion, by its semitones -3..3 counted round: 0 leaps down … 2 stays … 4 leaps up."""
_STAYS = 2
_TURN = np.array([[_turned(a, b) for b in range(-2, 3)] for a in range(-2, 3)])
"""Two motions in a row, as a place in the goes-on tables: size of the first, direction and size of the second."""
_NO_TURN = 15


def _kind(motion: Ints) -> Ints:
    return _KIND.take(np.clip(motion, -3, 3), mode="wrap")


def _ratio(a: Floats, b: Floats) -> Floats:
    """Octaves of length between a and b; the shortest counts as a thousandth of a quarter."""
    ratio: Floats = np.log2(np.maximum(a, 1e-3) / np.maximum(b, 1e-3))
    return ratio


def _lengths_across(length: Floats, known: Flags) -> Singles:
    octaves = np.log2(np.maximum(length, 1e-3))
    ratio = octaves[:, None] - _behind(octaves)
    kind = np.where(known, 0 + (ratio >= -0.3) + (ratio >= 0.3), 3)
    return _LENGTH_ACROSS.take(kind)


def _shifted(values: NDArray[np.bool_] | Ints | Floats, by: int, fill: float) -> Floats:
    """`values[i + by]` at i, `fill` beyond the ends."""
    out = np.full(len(values), fill, dtype=np.float64)
    if by >= 0:
        out[: max(0, len(values) - by)] = values[by:]
    else:
        out[-by:] = values[:by]
    return out


def _figures(midi: Ints, length: Floats) -> tuple[Flags, Flags, Floats]:
    """Where a neighbor figure ends, where a leaning ornament resolves, and what both say of changing lines there."""
    one, two = _shifted(midi, -1, np.inf), _shifted(midi, -2, np.inf)
    near, last = _shifted(length, -1, 0.0), _shifted(length, -2, 0.0)
    step = (np.abs(midi - one) <= 2) & (midi != one)
    neighbor = (two == midi) & step
    measured = neighbor & (np.abs(near - length) < 1e-6) & (np.abs(last - 2 * length) < 1e-6)
    leaning = step & (np.abs(length - 3 * near) < 1e-6)
    marks = [_shifted(figure, by, 0.0) for figure in (neighbor, measured) for by in (1, 0, -1, 2)]
    marks += [_shifted(leaning, by, 0.0) for by in (0, -1, 1)]
    weight = np.stack(marks, axis=1) @ np.array(tables.CHANGE_AT_FIGURE)
    edges = (-1.2, -0.3, 0.3, 1.2)
    against = np.digitize(_ratio(length, near), edges)
    against[:1] = 2
    weight += np.array(tables.CHANGE_BY_LENGTH)[against]
    weight += np.array(tables.CHANGE_BY_LENGTH_BEFORE)[np.digitize(_ratio(near, last), edges)]
    return neighbor, leaning, weight


def _groups(neighbor: Flags, leaning: Flags) -> Ints:
    """Groups, from 0, in each run of 1..WINDOW tones that ends at each tone: figures count as one."""
    run = np.arange(1, WINDOW + 1)
    turns, leans = np.cumsum(neighbor, dtype=np.int64), np.cumsum(leaning, dtype=np.int64)
    # What has ended since: a neighbor figure ends on its third tone, a leaning ornament on its second.
    inside = np.zeros((len(neighbor), WINDOW), dtype=np.int64)
    inside[:, 2:] = turns[:, None] - _behind(turns)[:, : WINDOW - 2]
    inside = np.minimum(inside, run // 3)
    leant = np.zeros_like(inside)
    leant[:, 1:] = leans[:, None] - _behind(leans)[:, : WINDOW - 1]
    counted: Ints = np.clip(run - 2 * inside - leant, 1, GROUPS) - 1
    return counted
