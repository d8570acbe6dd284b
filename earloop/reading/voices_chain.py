"""The chance that each tone is of the upper line: forward–backward over (line, other line's last tone, its last run).

Exact within a piece of the line; long lines are read as overlapping pieces side by side, so that time is linear and
memory bounded. The posterior, not the single best path, is what decides (minimum Bayes risk per tone).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading import voices_tables as tables
from earloop.reading.voices_cues import GROUPS, WINDOW, Floats, Ints, find_cues

PIECE = 64
OVERLAP = 32
BLOCK = 4096
_GOES_ON = np.exp(np.array(tables.RUN_GOES_ON))
_ENDS = np.exp(np.array(tables.RUN_ENDS))


def upper_chances(midi: Ints, length: Floats, allowed: Floats) -> Floats:
    """The chance of the upper line at each tone, given two lines.

    `allowed` [N, 2] holds 1 where a tone may be upper, lower, and 0 where a decision forbids it.
    """
    size = len(midi)
    out = np.empty(size)
    for first in range(0, size, BLOCK):
        last = min(size, first + BLOCK)
        start, stop = max(0, first - OVERLAP), min(size, last + OVERLAP)
        out[first:last] = _block(midi[start:stop], length[start:stop], allowed[start:stop])[first - start :][
            : last - first
        ]
    return out


def _block(midi: Ints, length: Floats, allowed: Floats) -> Floats:
    """The block's chances, all its pieces stepping through time together."""
    size = len(midi)
    cues = find_cues(midi, length)
    starts = np.arange(0, size, PIECE) - OVERLAP
    reach = min(size, PIECE + 2 * OVERLAP)
    starts = np.clip(starts, 0, size - reach) if reach < size else np.array([0])
    order = starts + np.arange(reach)[:, None]
    groups = cues.groups[order]
    into = np.eye(GROUPS)[groups]
    on = cues.on[order][..., None] * _GOES_ON.T[np.roll(groups, 1, axis=0)][:, :, None]
    kept = cues.kept[order][..., [0, 1, 1, 1]] * _ENDS.T[np.roll(groups, 1, axis=0)]
    change = cues.change[order][..., None] * kept[:, :, None]
    chance = _forward_backward(on, change, np.roll(into, 1, axis=0), allowed[order])
    out = np.empty(size)
    for piece, start in enumerate(starts.tolist()):
        first = 0 if piece == 0 else PIECE * piece
        last = size if piece == len(starts) - 1 else min(size, PIECE * (piece + 1))
        out[first:last] = chance[first - start : last - start, piece]
    return out


def _forward_backward(on: Floats, change: Floats, into: Floats, allowed: Floats) -> Floats:
    """Upper-line posteriors [T, B] from factors [T, B, 2, L, G], groups [T, B, L, G] and labels [T, B, 2]."""
    steps, pieces = on.shape[:2]
    ahead = np.zeros((steps, pieces, 2, WINDOW, GROUPS))
    ahead[0, :, :, WINDOW - 1, 0] = allowed[0]
    for t in range(1, steps):
        now, past = ahead[t], ahead[t - 1]
        stay = past * on[t]
        now[:, :, 1:] = stay[:, :, :-1]
        now[:, :, -1] += stay[:, :, -1]
        crossed = (past[:, ::-1] * change[t]).sum(axis=3)
        now[:, :, 0] = crossed @ into[t]
        now *= allowed[t][:, :, None, None]
        now /= np.maximum(now.sum(axis=(1, 2, 3), keepdims=True), 1e-300)
    chance = np.empty((steps, pieces))
    back = np.ones((pieces, 2, WINDOW, GROUPS))
    for t in range(steps - 1, -1, -1):
        both = (ahead[t] * back).sum(axis=(2, 3))
        chance[t] = both[:, 0] / np.maximum(both.sum(axis=1), 1e-300)
        if t:
            back = _step_back(back * allowed[t][:, :, None, None], on[t], change[t], into[t])
    return chance


def _step_back(back: Floats, on: Floats, change: Floats, into: Floats) -> NDArray[np.float64]:
    """The backward message one tone earlier."""
    onward = np.concatenate([back[:, :, 1:], back[:, :, -1:]], axis=2)
    entered = back[:, :, 0] @ into.transpose(0, 2, 1)
    earlier = onward * on
    earlier += (entered[..., None] * change)[:, ::-1]
    earlier /= np.maximum(earlier.max(axis=(1, 2, 3), keepdims=True), 1e-300)
    return earlier
