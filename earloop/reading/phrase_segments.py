"""Optimal segmentation: every way to cut a line into phrases weighed at once, exactly.

A semi-Markov model (Sarawagi & Cohen 2004): a cut after a tone has a score, a phrase has one too, from its time and
its number of tones. The forward and backward sums give the chance of a phrase end on each tone. Long lines are done
in overlapping blocks, all side by side: a breath hardly depends on what is many phrases away.

Arrays run over [place, block], borders one longer: border t stands before place t. Phrases run over
[place of the last tone, reach, block], the longest first: row j of `reach` has reach - j tones.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from earloop.line.line import Floats, Ints

_RESCALE = 24


class Blocks(NamedTuple):
    """`places[t, b]` is a tone index, -1 outside the line; `entry` and `leave` [t + 1, b] are 1 where phrases may
    start and stop being counted: at the line's two ends, and anywhere near a block's edge inside the line.
    """

    places: Ints
    entry: Floats
    leave: Floats
    margin: int


def blocks_of(size: int, reach: int) -> Blocks:
    """One block for a short line, else blocks of two reaches with surroundings of one and a half on both sides."""
    margin = reach + reach // 2
    core = 2 * reach
    if size <= core + 2 * margin:
        edge = np.zeros((size + 1, 1))
        entry, leave = edge.copy(), edge.copy()
        entry[0] = leave[-1] = 1.0
        return Blocks(np.arange(size)[:, None], entry, leave, 0)
    starts = np.arange(0, size, core) - margin
    borders = np.arange(core + 2 * margin + 1)[:, None] + starts
    within = (borders > 0) & (borders < size)
    place = np.arange(len(borders))[:, None]
    entry = ((place < reach) & within) | (borders == 0)
    leave = ((place >= len(borders) - reach) & within) | (borders == size)
    places = np.where((borders >= 0) & (borders < size), borders, -1)[:-1]
    return Blocks(places, entry.astype(np.float64), leave.astype(np.float64), margin)


def core_of(blocks: Blocks, values: Floats) -> Floats:
    """The middles of values [t, b] that their blocks speak for, one after another: one value a tone."""
    inner = values[blocks.margin : len(values) - blocks.margin] if blocks.margin else values
    return inner.T.ravel()


def sums_of(weights: Floats, entry: Floats, leave: Floats) -> tuple[Floats, Floats, Floats]:
    """Forward and backward log sums [t + 1, b], and log totals [b].

    `weights` [t, j, b] are the phrases' factors, their cuts included, 0 where impossible. The chance of an end on
    place t is exp(forward[t + 1] + backward[t + 1] - total).
    """
    ahead, back = _forward(weights, entry), _backward(weights, leave)
    with np.errstate(divide="ignore"):
        ends = ahead + np.log(leave)
    top = ends.max(axis=0)
    top = np.where(np.isfinite(top), top, 0.0)
    return ahead, back, top + np.log(np.maximum(np.exp(ends - top).sum(axis=0), 1e-300))


def _forward(weights: Floats, entry: Floats) -> Floats:
    """Log sums over all ways from the entry to each border, rescaled now and then so that nothing overflows."""
    size, reach, batch = weights.shape
    sums, scale = np.zeros((size + reach, batch)), np.zeros((size + reach, batch))
    sums[reach - 1] = entry[0]
    gained, opening, opens = np.zeros(batch), entry, np.any(entry, axis=1)
    for t in range(size):
        np.einsum("jb,jb->b", sums[t : t + reach], weights[t], out=sums[t + reach])
        if opens[t + 1]:
            sums[t + reach] += opening[t + 1]
        if t % _RESCALE == _RESCALE - 1:
            window = slice(t + 1, t + reach + 1)
            gained = _rescaled(sums[window], gained)
            scale[window] = gained
            scale[t + reach + 1 : t + reach + 1 + _RESCALE] = gained
            opening = entry * np.exp(np.clip(-gained, -600, 600))
    with np.errstate(divide="ignore"):
        return np.log(sums[reach - 1 :]) + scale[reach - 1 :]


def _backward(weights: Floats, leave: Floats) -> Floats:
    """The same from each border to the leaving, spreading each border's finished sum over the phrases before it."""
    size, reach, batch = weights.shape
    sums, scale = np.zeros((size + reach, batch)), np.zeros((size + reach, batch))
    sums[-1] = leave[-1]
    gained, closing, closes = np.zeros(batch), leave, np.any(leave, axis=1)
    for t in range(size - 1, -1, -1):
        sums[t : t + reach] += weights[t] * sums[t + reach]
        if closes[t]:
            sums[t + reach - 1] += closing[t]
        if t % _RESCALE == 0:
            window = slice(t, t + reach)
            gained = _rescaled(sums[window], gained)
            scale[: t + reach] = gained
            closing = leave * np.exp(np.clip(-gained, -600, 600))
    with np.errstate(divide="ignore"):
        return np.log(sums[reach - 1 :]) + scale[reach - 1 :]


def _rescaled(window: Floats, gained: Floats) -> Floats:
    """Divide the window in place by its greatest value; the log of all divisors so far."""
    top = window.max(axis=0)
    factor = np.where(top > 0, top, 1.0)
    window /= factor
    total: Floats = gained + np.log(factor)
    return total
