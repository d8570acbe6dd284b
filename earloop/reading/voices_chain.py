"""The chance that each tone is of the upper line: forward–backward over (line, other line's last tone, its last run).

Exact within a piece of the line; long lines are read as overlapping pieces side by side, so that time is linear and
memory bounded. The posterior, not the single best path, is what decides (minimum Bayes risk per tone).
"""

from __future__ import annotations

import numpy as np

from earloop.reading import voices_tables as tables
from earloop.reading.voices_cues import GROUPS, WINDOW, Cues, Floats, Ints, Singles, find_cues

PIECE = 64
OVERLAP = 24
BLOCK = 4096
RESCALE = 4
"""Messages are brought back to size every so many tones; single floats hold four steps with ease."""
_TINY = 1e-30
_GOES_ON = np.exp(np.array(tables.RUN_GOES_ON, dtype=np.float32)).T.copy()
_ENDS = np.exp(np.array(tables.RUN_ENDS, dtype=np.float32)).T.copy()
_INTO = np.eye(GROUPS, dtype=np.float32)
_ONES = np.ones(GROUPS, dtype=np.float32)
_LAST_RUN = [0, *[1] * (GROUPS - 1)]


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
    on, change, into = _factors(cues)
    chance = _forward_backward(on[order], change[order], into[order], allowed[order].astype(np.float32))
    out = np.empty(size)
    for piece, start in enumerate(starts.tolist()):
        first = 0 if piece == 0 else PIECE * piece
        last = size if piece == len(starts) - 1 else min(size, PIECE * (piece + 1))
        out[first:last] = chance[first - start : last - start, piece]
    return out


def _factors(cues: Cues) -> tuple[Singles, Singles, Singles]:
    """Factors of staying and of changing [N, 2, L, G], and groups of the run ended before, one-hot."""
    ended = np.roll(cues.groups, 1, axis=0)
    on = cues.on[..., None] * _GOES_ON[ended][:, None]
    kept = cues.kept[..., _LAST_RUN] * _ENDS[ended]
    change = cues.change[..., None] * kept[:, None]
    return on, change, _INTO[ended]


def _forward_backward(on: Singles, change: Singles, into: Singles, allowed: Singles) -> Floats:
    """Upper-line posteriors [T, B] from factors [T, B, 2, L, G], groups [T, B, L, G] and labels [T, B, 2]."""
    steps, pieces = on.shape[:2]
    free = bool(allowed.all())
    ahead = np.zeros((steps, pieces, 2, WINDOW, GROUPS), dtype=np.float32)
    ahead[0, :, :, WINDOW - 1, 0] = allowed[0]
    for t in range(1, steps):
        now, past = ahead[t], ahead[t - 1]
        stay = past * on[t]
        now[:, :, 1:] = stay[:, :, :-1]
        now[:, :, -1] += stay[:, :, -1]
        np.matmul((past[:, ::-1] * change[t]) @ _ONES, into[t], out=now[:, :, 0])
        if not free:
            now *= allowed[t][:, :, None, None]
        if t % RESCALE == 0:
            _rescale(now)
    chance = np.empty((steps, pieces))
    back = np.ones((pieces, 2, WINDOW, GROUPS), dtype=np.float32)
    for t in range(steps - 1, -1, -1):
        both = (ahead[t] * back).reshape(pieces, 2, -1).sum(axis=2)
        chance[t] = both[:, 0] / np.maximum(both.sum(axis=1), _TINY)
        if t:
            back = _step_back(back if free else back * allowed[t][:, :, None, None], on[t], change[t], into[t])
            if t % RESCALE == 0:
                _rescale(back)
    return chance


def _rescale(message: Singles) -> None:
    """Bring each piece's largest value to 1, in place."""
    top = message.reshape(len(message), -1).max(axis=1)
    message /= np.maximum(top, _TINY)[:, None, None, None]


def _step_back(back: Singles, on: Singles, change: Singles, into: Singles) -> Singles:
    """The backward message one tone earlier."""
    entered = back[:, ::-1, 0] @ into.transpose(0, 2, 1)
    earlier = entered[..., None] * change[:, ::-1]
    earlier[:, :, :-1] += back[:, :, 1:] * on[:, :, :-1]
    earlier[:, :, -1] += back[:, :, -1] * on[:, :, -1]
    return earlier
