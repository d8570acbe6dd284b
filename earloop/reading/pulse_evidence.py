"""What speaks for a meter: how onsets, lengths, held tones and repetitions lie on its beats.

Cues after the metrical preference rules of Lerdahl & Jackendoff 1983 (1 parallelism, 3 event, 5a length) and the
autocorrelation of rhythm (Brown 1993). Time is counted in ticks from the line's first onset.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Meter
from earloop.reading.pulse_ladder import ladder

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

TICKS = 48
"""Ticks a quarter: divides into sixteenths, thirty-seconds and triplets."""
BLOCK = 64
"""Tones that are judged together."""
_AT_ONCE = 96
"""Blocks counted in one go: small enough for the processor's cache."""
KINDS = 5
"""Classes of place that are told apart: 0 the downbeat … 4 the finest; 5 is off the grid."""
METERS = tuple(
    Meter(beats, unit)
    for beats, unit in ((2, 4), (3, 4), (4, 4), (6, 8), (3, 8), (9, 8), (12, 8), (3, 2), (4, 2), (6, 4))
)
NAMES = (
    *(f"{what}{kind}" for kind in range(KINDS) for what in ("onset", "length", "growth")),
    "held over a downbeat", "held long over a downbeat", "held over a half", "ends on a downbeat", "ends on a half",
    "repeats by the measure", "turns by the measure", "repeats by two", "turns by two", "repeats by the half",
    "turns by the half", "size", "size squared", "no upbeat", "upbeat", "long upbeat",
    *(f"{meter.beats}/{meter.unit}" for meter in METERS),
)  # fmt: skip


@lru_cache(maxsize=1)
def candidates() -> tuple[tuple[int, int], ...]:
    """Every meter (its number in METERS) with every first downbeat in ticks it may have, on the eighths."""
    return tuple((k, at) for k, meter in enumerate(METERS) for at in _starts(meter).tolist())


def _starts(meter: Meter) -> Ints:
    return np.arange(0, round(meter.measure_length * TICKS), TICKS // 2 if meter.unit > 2 else TICKS)


@lru_cache(maxsize=16)
def _places(k: int) -> tuple[Ints, Ints, Ints]:
    """For every tick of a measure: the class of place, ticks to the next downbeat and to the next half."""
    bar = round(METERS[k].measure_length * TICKS)
    lengths = [round(length * TICKS) for length in ladder(METERS[k])[::-1]]
    kind = np.full(bar, KINDS)
    at = np.arange(bar)
    for j in range(KINDS - 1, -1, -1):
        kind[at % lengths[j] == 0] = j
        if j < KINDS - 1:
            kind[(at % lengths[j] == 1) | (at % lengths[j] == lengths[j] - 1)] = j
    return kind.astype(np.int32), bar - at, lengths[1] - at % lengths[1]


def blocks_of(size: int) -> Ints:
    """The block each tone is in."""
    count = max(1, round(size / BLOCK))
    return np.arange(size) * count // size


def evidence(columns: Columns) -> Floats:
    """Features, blocks x candidates x NAMES."""
    size = columns.size
    block = blocks_of(size)
    count = int(block[-1]) + 1
    many = np.bincount(block, minlength=count)
    tick = np.round((columns.onset - columns.onset[0]) * TICKS).astype(np.int64)
    ioi = np.maximum(columns.ioi, 1e-3)
    held = np.round(np.minimum(columns.length, ioi) * TICKS).astype(np.int64)
    logs = np.log2(ioi)
    middle = np.bincount(block, weights=logs, minlength=count) / many
    long = np.clip(logs - middle[block], -2, 2)
    growth = np.clip(np.diff(logs, prepend=logs[0]), -2, 2)
    there = _there(tick, max(_lags()))
    echoes = {lag: _echo(columns, there(lag), logs, block, many) for lag in _lags()}
    out = np.zeros((count, len(candidates()), len(NAMES)))
    done = 0
    for k, meter in enumerate(METERS):
        starts = _starts(meter)
        rows = out[:, done : done + len(starts)]
        for b in range(0, count, _AT_ONCE):
            some = slice(*np.searchsorted(block, [b, b + _AT_ONCE]).tolist())
            rows[b : b + _AT_ONCE, :, : 3 * KINDS + 5] = _on_beats(
                k, tick[some], held[some], (long[some], growth[some]), block[some] - b, many[b : b + _AT_ONCE]
            )
        bar, half = round(meter.measure_length * TICKS), round(ladder(meter)[-2] * TICKS)
        for n, echo in enumerate(e for lag in (bar, 2 * bar, half) for e in echoes[lag]):
            rows[:, :, 3 * KINDS + 5 + n] = echo[:, None]
        big = (np.log2(meter.measure_length) - middle)[:, None]
        share = starts / bar
        for n, value in enumerate((big, big**2, starts == 0, share, share > 0.5)):
            rows[:, :, 3 * KINDS + 11 + n] = value
        rows[:, :, 3 * KINDS + 16 + k] = 1.0
        done += len(starts)
    return out


def _on_beats(k: int, tick: Ints, held: Ints, cues: tuple[Floats, Floats], block: Ints, many: Ints) -> Floats:
    """What falls on and is held over the beats of a meter: blocks x first downbeats x 20 features."""
    count, phases = len(many), len(_starts(METERS[k]))
    at_kinds, to_bar, to_half = _places_of(k)
    bar = len(at_kinds)
    at = tick % bar
    cell = block * bar + at
    held_there = [np.bincount(cell, weights=cue, minlength=count * bar) for cue in (np.ones(len(tick)), *cues)]
    sums = np.stack(held_there).reshape(3 * count, bar) @ _kinds_of(k).reshape(bar, -1)
    over = held[:, None] > to_bar.take(at, axis=0)
    over_half = held[:, None] > to_half.take(at, axis=0)
    begins = np.searchsorted(block, np.arange(count))
    held_over = (over * 1.0, over * np.maximum(cues[0], 0)[:, None], over_half * 1.0)
    tail = np.stack([np.add.reduceat(what, begins, axis=0) for what in held_over], axis=2)
    kind = at_kinds[at[np.append(begins[1:], len(tick)) - 1]]
    ends = [(kind == j)[:, :, None] for j in (0, 1)]
    by_kind = sums.reshape(3, count, phases, KINDS).transpose(1, 2, 3, 0).reshape(count, phases, -1)
    return np.concatenate([np.concatenate([by_kind, tail], axis=2) / many[:, None, None], *ends], axis=2)


@lru_cache(maxsize=16)
def _places_of(k: int) -> tuple[Ints, Ints, Ints]:
    """For every tick of a measure of the line and each first downbeat: the class of place, and the longest tone (in
    ticks) that isn't held over the next downbeat, over the next half; none is where it stands on one itself."""
    kinds, to_bar, to_half = _places(k)
    place = (np.arange(len(kinds))[:, None] - _starts(METERS[k])[None, :]) % len(kinds)
    kind = kinds[place]
    never = np.iinfo(np.int64).max
    return kind, np.where(kind > 0, to_bar[place] + 1, never), np.where(kind > 1, to_half[place] + 1, never)


@lru_cache(maxsize=16)
def _kinds_of(k: int) -> Floats:
    """1 where a place of the measure (in ticks of the line) is of a kind, for each first downbeat of the meter."""
    return np.asarray((_places_of(k)[0][:, :, None] == np.arange(KINDS)) * 1.0)


@lru_cache(maxsize=1)
def _lags() -> tuple[int, ...]:
    bars = [round(meter.measure_length * TICKS) for meter in METERS]
    halves = [round(ladder(meter)[-2] * TICKS) for meter in METERS]
    return tuple(sorted({*bars, *(2 * bar for bar in bars), *halves}))


def _there(tick: Ints, widest: int) -> Callable[[int], Ints]:
    """For a lag up to `widest`: the index of the first tone so many ticks after each tone, -1 where there is none.

    A table over time answers; gaps too wide for any lag to bridge are shortened first, so that it stays small.
    """
    near = np.cumsum(np.minimum(np.diff(tick, prepend=tick[0]), widest + 1))
    table = np.full(int(near[-1]) + widest + 1, -1, dtype=np.int32)
    table[near[::-1]] = np.arange(len(tick) - 1, -1, -1)
    return lambda lag: table[near + lag]


def _echo(columns: Columns, at: Ints, logs: Floats, block: Ints, many: Ints) -> tuple[Floats, Floats]:
    """How often a tone comes back with its length, and how often with its interval; `at` says where, -1 nowhere."""
    count = len(many)
    there = at >= 0
    same = there & (np.abs(logs[at] - logs) < 0.1)
    turns = there & (np.abs(columns.interval[at] - columns.interval) <= 1)
    return (
        np.bincount(block, weights=same, minlength=count) / many,
        (np.bincount(block, weights=turns, minlength=count) + 0.4) / (np.bincount(block, there, count) + 1.0),
    )
