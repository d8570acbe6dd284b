"""Parallelism: what follows starts as the tune or an earlier phrase did, what precedes ends as one did.

Lerdahl & Jackendoff 1983, grouping preference rule 6. Equal passages are found by hashing short runs of times and
intervals, so that the work grows with the line's length and not with its square.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from earloop.line import Columns
from earloop.line.line import Floats, Ints
from earloop.reading.phrase_cues import at, log_times

PARALLEL_CUES = (
    "starts as the line did, rhythm",
    "starts as the line did, pitches",
    "ends as the line does, rhythm",
    "ends as the line does, intervals",
    "a repeat starts after, rhythm of six",
    "a repeat ends here, four tones",
)
ECHO_CUES = (
    "elsewhere the same rhythm ahead",
    "elsewhere the same intervals ahead",
    "elsewhere the same pitches here",
    "elsewhere the same tones around",
    "elsewhere the same tones behind",
)
_MIX = np.uint64(0x9E3779B97F4A7C15)


def parallel_cues(columns: Columns) -> Floats:
    """One row a tone, one column for each of PARALLEL_CUES."""
    time, step, pitch = alphabets(columns)
    return np.column_stack(
        [
            _opening(time, 6),
            _opening(pitch, 5),
            _closing(time, 1, 6),
            _closing(step, 0, 5),
            repeat_starts(time, 6),
            repeat_ends(_mixed(time, step), 4),
        ]
    )


def alphabets(columns: Columns) -> tuple[Ints, Ints, Ints]:
    """Each tone's time (quarter steps of log2), interval from the tone before and pitch, as whole numbers."""
    time = np.round(log_times(columns) * 4).astype(np.int64)
    return time, np.clip(columns.interval, -24, 24), columns.midi


def runs(symbols: Ints, length: int) -> Ints:
    """A hash of the `length` symbols starting at each place; beyond the line each place gets a hash of its own."""
    size = len(symbols)
    out = np.zeros(size, dtype=np.uint64)
    padded = np.append(symbols.astype(np.uint64), np.arange(10**6, 10**6 + length, dtype=np.uint64))
    with np.errstate(over="ignore"):
        for k in range(length):
            out = (out ^ (padded[k : k + size] + np.uint64(k + 1))) * _MIX
            out ^= out >> np.uint64(29)
    return out.astype(np.int64)


def _mixed(first: Ints, second: Ints) -> Ints:
    return first * 1009 + second


def counted(hashes: Ints) -> tuple[Ints, Ints]:
    """For each place its class among equal hashes, and how many places are in that class."""
    _, inverse, counts = np.unique(hashes, return_inverse=True, return_counts=True)
    return inverse, counts[inverse]


def _opening(symbols: Ints, most: int) -> Floats:
    """Share of the first `most` symbols after each tone that match the line's opening."""
    going = np.ones(len(symbols), dtype=bool)
    total = np.zeros(len(symbols))
    for k in range(min(most, len(symbols))):
        going &= at(symbols.astype(float), k + 1, 1e9) == symbols[k]
        total += going
    return total / most


def _closing(symbols: Ints, skip: int, most: int) -> Floats:
    """Share of the last `most` symbols up to each tone that match the line's end, the first `skip` left out."""
    going = np.ones(len(symbols), dtype=bool)
    total = np.zeros(len(symbols))
    for k in range(skip, min(most, len(symbols))):
        going &= at(symbols.astype(float), -k, 1e9) == symbols[-1 - k]
        total += going
    return total / (most - skip)


def repeat_starts(symbols: Ints, length: int) -> Floats:
    """1 where the run after the tone recurs but not with the tone itself before it."""
    recurs = (counted(runs(symbols, length))[1] > 1).astype(float)
    longer = (counted(runs(symbols, length + 1))[1] > 1).astype(float)
    starts: Floats = at(recurs, 1) * (1 - longer)
    return starts


def repeat_ends(symbols: Ints, length: int) -> Floats:
    """1 where the run up to the tone recurs but not with the next tone after it."""
    recurs = (counted(runs(symbols, length))[1] > 1).astype(float)
    longer = (counted(runs(symbols, length + 1))[1] > 1).astype(float)
    return at(recurs * (1 - longer), 1 - length)


class Context(NamedTuple):
    """For each tone its class among places with like surroundings, and how many others are in that class."""

    group: Ints
    others: Ints


def echo_contexts(columns: Columns) -> tuple[Context, ...]:
    """The likenesses asked after, one for each of ECHO_CUES."""
    time, step, pitch = alphabets(columns)
    both = _mixed(time, step)
    asked = [(time, 4, 1), (step, 3, 2), (pitch, 2, 0), (both, 4, -1), (both, 4, -3)]
    return tuple(_context(runs(symbols, length), shift) for symbols, length, shift in asked)


def echo_cues(contexts: tuple[Context, ...], chance: Floats) -> Floats:
    """How likely breaths are (against the line's mean) at other places whose surroundings are alike.

    `chance` is the earlier pass's probability of a breath after each tone. One column for each of ECHO_CUES.
    """
    return np.column_stack([_echo(context, chance) for context in contexts])


def _context(hashes: Ints, shift: int) -> Context:
    size = len(hashes)
    places = np.arange(size) + shift
    inside = (places >= 0) & (places < size)
    group, count = counted(np.where(inside, hashes[np.clip(places, 0, size - 1)], -1 - np.arange(size)))
    return Context(group, count - 1)


def _echo(context: Context, chance: Floats) -> Floats:
    """Mean chance at the other places of the same class, shrunk towards the line's mean, as a log ratio."""
    group, others = context
    total = np.bincount(group, weights=chance)[group] - chance
    mean = float(chance.mean()) + 1e-3
    ratio: Floats = np.where(others > 0, np.log((np.maximum(total, 0.0) + mean) / ((others + 1) * mean)), 0.0)
    return ratio
