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
_GOES_ON = np.exp(np.array(tables.RUN_GOES_ON, dtype=np.float32))
_ENDS = np.exp(np.array(tables.RUN_ENDS, dtype=np.float32))
_INTO = np.eye(GROUPS, dtype=np.float32)


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
    chance = _forward_backward(order, *_factors(cues), allowed.astype(np.float32))
    out = np.empty(size)
    for piece, start in enumerate(starts.tolist()):
        first = 0 if piece == 0 else PIECE * piece
        last = size if piece == len(starts) - 1 else min(size, PIECE * (piece + 1))
        out[first:last] = chance[first - start : last - start, piece]
    return out


def _factors(cues: Cues) -> tuple[Singles, Singles]:
    """Factors of staying in a line and of leaving it [N, stay or leave, 2, G, L]; [N, L, G] groups of the run ended."""
    ended = np.roll(cues.groups, 1, axis=0)
    moves = np.empty((len(ended), 2, 2, GROUPS, WINDOW), dtype=np.float32)
    for group in range(GROUPS):
        np.multiply(cues.on, _GOES_ON[group].take(ended)[:, None], out=moves[:, 0, :, group])
        kept = cues.kept[..., min(group, 1)] * _ENDS[group].take(ended)
        np.multiply(cues.change[:, ::-1], kept[:, None], out=moves[:, 1, :, group])
    return moves, _INTO.take(ended, axis=0)


def _forward_backward(order: Ints, moves: Singles, into: Singles, allowed: Singles) -> Floats:
    """Upper-line posteriors [T, B] of the tones in `order` [T, B], from factors, groups and labels [N, 2] of all tones.

    Messages run over [B, line, G of the other line's last run, L]; their factors are taken step by step, so that a few
    thousand bytes pass to and fro and not millions.
    """
    steps, pieces = order.shape
    free = bool(allowed.all())
    ahead = np.empty((steps, pieces, 2, GROUPS, WINDOW), dtype=np.float32)
    ahead[0] = 0.0
    ahead[0, :, :, 0, -1] = allowed[order[0]]
    for t in range(1, steps):
        _step_ahead(ahead[t - 1], moves.take(order[t], axis=0), into.take(order[t], axis=0), ahead[t])
        if not free:
            ahead[t] *= allowed[order[t]][:, :, None, None]
        if t % RESCALE == 0:
            _rescale(ahead[t])
    lines = np.empty((steps, pieces, 2))
    back = np.ones_like(ahead[0])
    for t in range(steps - 1, -1, -1):
        lines[t] = (ahead[t] * back).reshape(pieces, 2, -1).sum(axis=2)
        if t:
            back = back if free else back * allowed[order[t]][:, :, None, None]
            back = _step_back(back, moves.take(order[t], axis=0), into.take(order[t], axis=0))
            if t % RESCALE == 0:
                _rescale(back)
    chance: Floats = lines[:, :, 0] / np.maximum(lines.sum(axis=2), _TINY)
    return chance


def _rescale(message: Singles) -> None:
    """Bring each piece's largest value to 1, in place."""
    top = message.reshape(len(message), -1).max(axis=1)
    message /= np.maximum(top, _TINY)[:, None, None, None]


def _step_ahead(past: Singles, moves: Singles, into: Singles, now: Singles) -> None:
    """The forward message one tone later, written into `now`; the oldest place keeps all that is older."""
    stay = past * moves[:, 0]
    now[..., 1:] = stay[..., :-1]
    now[..., -1] += stay[..., -1]
    left = np.einsum("bsgl,bsgl->bsl", past, moves[:, 1])
    now[..., 0] = (left @ into)[:, ::-1]


def _step_back(back: Singles, moves: Singles, into: Singles) -> Singles:
    """The backward message one tone earlier."""
    entered = back[:, ::-1, :, 0] @ into.transpose(0, 2, 1)
    stay = np.empty_like(back)
    stay[..., :-1] = back[..., 1:]
    stay[..., -1] = back[..., -1]
    stay *= moves[:, 0]
    stay += entered[:, :, None] * moves[:, 1]
    return stay
