"""Optimal segmentation: every way to cut a line into phrases weighed at once, exactly.

A semi-Markov model (Sarawagi & Cohen 2004): a cut after a tone has a score, a phrase has one too, from its time and
its number of tones. The forward and backward sums give the chance of a phrase end on each tone. Long lines are done
in overlapping blocks, all side by side: a breath hardly depends on what is many phrases away.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from earloop.line.line import Floats, Ints

CORE = 96
"""Tones of a block that count; as many as one reach on each side are its surroundings."""
_RESCALE = 16


class Blocks(NamedTuple):
    """`places[b, t]` is a tone index, -1 outside the line; `entry` and `leave` [b, t + 1] say where phrases may
    start and stop being counted: at the line's two ends, and anywhere near a block's edge inside the line.
    """

    places: Ints
    entry: Floats
    leave: Floats
    margin: int


def blocks_of(size: int, reach: int) -> Blocks:
    """One block for a short line, else blocks of CORE tones with `reach` tones and more on both sides."""
    margin = max(48, reach)
    if size <= CORE + 2 * margin:
        edge = np.zeros((1, size + 1))
        entry, leave = edge.copy(), edge.copy()
        entry[0, 0] = leave[0, -1] = 1.0
        return Blocks(np.arange(size)[None, :], entry, leave, 0)
    starts = np.arange(0, size, CORE) - margin
    places = starts[:, None] + np.arange(CORE + 2 * margin)[None, :]
    borders = starts[:, None] + np.arange(CORE + 2 * margin + 1)[None, :]
    place = np.arange(borders.shape[1])
    before = (place < reach) & (borders > 0) & (borders < size)
    after = (place >= borders.shape[1] - reach) & (borders > 0) & (borders < size)
    entry = (before | (borders == 0)).astype(float)
    leave = (after | (borders == size)).astype(float)
    return Blocks(np.where((places >= 0) & (places < size), places, -1), entry, leave, margin)


def cores(blocks: Blocks, values: Floats) -> Floats:
    """Each block's core of values [b, t]; the blocks' cores in a row are the line (and some places beyond)."""
    if blocks.margin == 0:
        return values
    return values[:, blocks.margin : blocks.margin + CORE]


def sums_of(weights: Floats, entry: Floats, leave: Floats) -> tuple[Floats, Floats, Floats]:
    """Forward and backward log sums over a batch of blocks.

    `weights[b, t, k]` is the factor of a phrase of k + 1 tones that ends on place t, its cut included, 0 where
    impossible. Returns log forward [b, t + 1] (all phrases before that border), log backward [b, t + 1] and log
    totals [b]; the chance of an end on place t is exp(forward[t + 1] + backward[t + 1] - total).
    """
    batch, size, reach = weights.shape
    mirrored = np.zeros_like(weights)
    for k in range(min(reach, size)):
        mirrored[:, k:, k] = weights[:, k:, k][:, ::-1]
    both = _sums(np.concatenate([weights, mirrored]), np.concatenate([entry, leave[:, ::-1]]))
    ahead, back = both[:batch], both[batch:, ::-1]
    ends = np.where(leave > 0, ahead, -np.inf)
    top = ends.max(axis=1)
    top = np.where(np.isfinite(top), top, 0.0)
    total = top + np.log(np.maximum(np.exp(ends - top[:, None]).sum(axis=1), 1e-300))
    return ahead, back, total


def _sums(weights: Floats, entry: Floats) -> Floats:
    """Log sums over all ways to reach each border, rescaled now and then so that nothing under- or overflows."""
    batch, size, reach = weights.shape
    flipped = np.ascontiguousarray(weights[:, :, ::-1])
    sums = np.zeros((batch, size + reach))
    scale = np.zeros((batch, size + reach))
    sums[:, reach - 1] = entry[:, 0]
    gained = np.zeros(batch)
    opening = entry.copy()
    for t in range(size):
        sums[:, t + reach] = np.einsum("bk,bk->b", sums[:, t : t + reach], flipped[:, t]) + opening[:, t + 1]
        scale[:, t + reach] = gained
        if t % _RESCALE == _RESCALE - 1:
            window = slice(t + 1, t + reach + 1)
            top = sums[:, window].max(axis=1)
            factor = np.where(top > 0, top, 1.0)
            sums[:, window] /= factor[:, None]
            gained = gained + np.log(factor)
            scale[:, window] = gained[:, None]
            opening = entry * np.exp(np.clip(-gained, -600, 600))[:, None]
    with np.errstate(divide="ignore"):
        return np.log(sums[:, reach - 1 :]) + scale[:, reach - 1 :]
