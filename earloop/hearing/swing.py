"""What pitch a swinging tone is on: its vibrato told from its level.

The median of a swing that isn't a whole number of times round is off by up to a third of its width, so a level and one
sine are fitted together. A tone too short to tell the two apart borrows the rate and width that the singer's own longer
tones have. Singers' vibrato lies about 4 to 7 times a second (Seashore 1932, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from earloop.hearing.pitch_track import HOP, Floats

HERTZ = np.arange(3.5, 8.01, 0.25)
WIDEST = 1.5
"""Semitones either side that a vibrato swings at most; what lies farther off is no part of the tone."""
ROUND = 1.1
"""Times round from which a tone tells its own vibrato."""
EXPLAINED = 0.6
"""Share of the variance by which the sine must better the level alone."""
SURE, FAR = 0.15, 0.6
"""Semitones off the fit at which a frame weighs half, and from which it counts no more."""
LONG = 0.4
"""Seconds (less its edges) from which a tone tells the take's vibrato by itself."""
LEAST = 3
"""Tones that a take's vibrato must be told from."""
BRIEFEST = 8
"""Frames a tone must have to tell something of it."""
SHARED_HERTZ, SHARED_WIDTHS = np.arange(4.0, 7.01, 0.5), np.arange(0.0, 0.91, 0.15)
PRIOR = 0.02
"""Semitones a frame that each semitone of width must gain, since a swing fits everything a little better than none."""
EDGE, EDGE_MOST = 1 / 6, 0.06
"""Share of a tone, and seconds at most, that the slide at either end takes."""
PHASES = np.arange(24) * np.pi / 12
WIDTHS = np.array([0.6, 0.8, 1.0])
"""A short tone swings as wide as the long ones or less."""


@dataclass(frozen=True, slots=True)
class Swing:
    """`hertz` times a second, `width` semitones either side."""

    hertz: float
    width: float


def take_swing(contours: Sequence[Floats]) -> Swing | None:
    """The middle of the vibratos of a take's long tones; where there are too few, the one that fits all tones best."""
    inner = [_inner(contour) for contour in contours if len(contour)]
    long = [(time, value) for time, value in inner if len(value) * HOP >= LONG]
    if len(long) < LEAST:
        return _shared([(time, value) for time, value in inner if len(value) >= BRIEFEST])
    fitted = [_fitted(time, value) for time, value in long]
    hertz, width = np.median([(f[1], f[2]) if f else (5.5, 0.0) for f in fitted], axis=0)
    return Swing(float(hertz), float(width))


def _shared(tones: Sequence[tuple[Floats, Floats]]) -> Swing | None:
    """The rate and width under which all tones together lie nearest to a swing about some level each."""
    if len(tones) < LEAST:
        return None
    best, found = np.inf, None
    tried = SHARED_WIDTHS[None, :, None]
    for hertz in SHARED_HERTZ:
        rest = np.zeros(len(SHARED_WIDTHS))
        for time, value in tones:
            turn = 2 * np.pi * hertz * time[None, None, :] + PHASES[:, None, None]
            left = value[None, None, :] - tried * np.sin(turn)
            off = np.minimum(np.abs(left - np.median(left, axis=2, keepdims=True)), FAR)
            rest += np.min(np.mean(off, axis=2), axis=0)
        rest += PRIOR * len(tones) * SHARED_WIDTHS
        if np.min(rest) < best:
            best, found = float(np.min(rest)), Swing(float(hertz), float(SHARED_WIDTHS[np.argmin(rest)]))
    return found


def centre(contour: Floats, swing: Swing | None = None) -> float:
    """The fractional key that a contour (one value each HOP, NaN where unpitched) swings about."""
    time, value = _inner(contour)
    if not len(value):
        return float(np.nanmedian(contour))
    hertz = swing.hertz if swing else 5.0
    if len(value) * HOP * hertz >= ROUND:
        fitted = _fitted(time, value)
        return float(np.median(value)) if fitted is None else fitted[0]
    if swing is not None and swing.width > 0.1:
        return _borrowed(time, value, swing)
    return float(np.median(value))


def _inner(contour: Floats) -> tuple[Floats, Floats]:
    """Times and values without the edges, the unpitched and the far off."""
    known = np.flatnonzero(~np.isnan(contour))
    contour = contour[known[0] : known[-1] + 1] if len(known) else contour
    edge = int(min(EDGE * len(contour), EDGE_MOST / HOP))
    inner = contour[edge : len(contour) - edge]
    if not np.any(~np.isnan(inner)):
        return np.zeros(0), np.zeros(0)
    near = np.abs(inner - np.nanmedian(inner)) < WIDEST
    return np.asarray(np.flatnonzero(near) * HOP, dtype=np.float64), inner[near]


def _fitted(time: Floats, value: Floats) -> tuple[float, float, float] | None:
    """Level, hertz and width of the best level with one sine, or None where the level alone does as well.

    Fitted for all rates at once and again with what lies off weighing less: a slide that is left over at an edge.
    """
    turn = 2 * np.pi * HERTZ[:, None] * time[None, :]
    columns = np.stack([np.ones_like(turn), np.sin(turn), np.cos(turn)], axis=2)
    weight = np.ones_like(turn)
    for _ in range(4):
        weighed = columns * weight[:, :, None]
        square = np.einsum("htc,htd->hcd", weighed, columns) + 1e-6 * np.eye(3)
        fitted = np.linalg.solve(square, np.einsum("htc,t->hc", weighed, value)[:, :, None])
        off = np.abs(value[None, :] - (columns @ fitted)[:, :, 0])
        weight = 1 / (1 + (off / SURE) ** 2)
    width = np.hypot(fitted[:, 1, 0], fitted[:, 2, 0])
    rest = np.where(width < WIDEST, np.mean(np.minimum(off, FAR) ** 2, axis=1), np.inf)
    best = int(np.argmin(rest))
    plain = np.mean(np.minimum(np.abs(value - np.median(value)), FAR) ** 2)
    if rest[best] > (1 - EXPLAINED) * plain:
        return None
    return float(fitted[best, 0, 0]), float(HERTZ[best]), float(width[best])


def _borrowed(time: Floats, value: Floats, swing: Swing) -> float:
    """The level under a piece of the take's own vibrato, wherever in its turn the tone caught it."""
    turn = 2 * np.pi * swing.hertz * time[None, None, :] + PHASES[:, None, None]
    shapes = swing.width * WIDTHS[None, :, None] * np.sin(turn)
    left = value[None, None, :] - shapes
    levels = np.median(left, axis=2)
    off = np.mean(np.minimum(np.abs(left - levels[:, :, None]), 0.5), axis=2)
    weight = np.exp(-np.minimum((off - off.min()) / 0.02, 50.0))
    return float(np.sum(weight * levels) / np.sum(weight))
