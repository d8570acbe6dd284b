"""The chance of a phrase end on each tone: passes over the line, each later one knowing what the one before found.

The first pass weighs local cues, parallels and a breath's usual length. The second, run twice,
adds how long this line's phrases are and whether like places elsewhere end a phrase.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from earloop.line import Columns
from earloop.line.line import Floats
from earloop.reading import phrase_coefficients as fitted
from earloop.reading.phrase_cues import LOCAL_CUES, local_cues
from earloop.reading.phrase_lengths import (
    LENGTH_CUES,
    NO_HABIT,
    NO_TIME,
    TYPICAL_CUES,
    Bins,
    Breath,
    Habit,
    habit_of,
    joined,
    length_cues,
    time_bins,
    typical_cues,
)
from earloop.reading.phrase_parallels import ECHO_CUES, PARALLEL_CUES, echo_contexts, echo_cues, parallel_cues
from earloop.reading.phrase_segments import Blocks, blocks_of, core_of, sums_of

_AT_ONCE = 32
"""Blocks worked on side by side: enough for speed, few enough for memory."""
_LOW, _HIGH = -25.0, 12.0
_AGAIN = 2
"""How often the second pass is run, each time on what the one before found."""


class _Part(NamedTuple):
    """Some blocks of the line and each phrase's time bin [t, j, b], NO_TIME where it doesn't lie in the block."""

    blocks: Blocks
    bins: Bins


class _Weighed(NamedTuple):
    """Chance of an end on each place [t, b], and what the chance of each phrase follows from."""

    chance: Floats
    weights: Floats
    ahead: Floats
    after: Floats


class _Found(NamedTuple):
    """A pass's result: the chance of an end on each tone, and the time and number of tones of the line's phrases."""

    chance: Floats
    habit: Habit


class Chances(NamedTuple):
    """The chance (0..1) that a phrase ends on each tone, 1 on the last: by the first pass, and by the last one."""

    first: Floats
    second: Floats


def end_chances(columns: Columns, tonic: int, breath: Breath, bias: Floats) -> Chances:
    """What each pass finds; `bias` is added to each tone's score."""
    cues = np.column_stack([local_cues(columns, tonic), parallel_cues(columns)])
    names = LOCAL_CUES + PARALLEL_CUES
    score = cues @ _weights(fitted.FIRST_CUTS, names) + fitted.FIRST_CUTS["start"] + bias
    parts = list(_parts(columns, breath))
    found = first = _first(score, breath, parts)
    plain = cues @ _weights(fitted.SECOND_CUTS, names) + fitted.SECOND_CUTS["start"] + bias
    contexts = echo_contexts(columns)
    for left in range(_AGAIN, 0, -1):
        echoes = echo_cues(contexts, found.chance) @ _weights(fitted.SECOND_CUTS, ECHO_CUES)
        found = _second(plain + echoes, breath, parts, found.habit, counting=left > 1)
    return Chances(first.chance, found.chance)


def _weights(table: dict[str, float], names: tuple[str, ...]) -> Floats:
    return np.array([table.get(name, 0.0) for name in names])


def _first(score: Floats, breath: Breath, parts: list[_Part]) -> _Found:
    """The first pass: a phrase's length is judged by what a breath usually holds."""
    weights = _weights(fitted.FIRST_LENGTHS, LENGTH_CUES)
    tones, times = length_cues(breath)
    return _pass(score, parts, tones @ weights[:4], times @ weights[4:])


def _second(score: Floats, breath: Breath, parts: list[_Part], habit: Habit, counting: bool) -> _Found:
    """The second pass: the line's own habit of phrase length is known."""
    plain = _weights(fitted.SECOND_LENGTHS, LENGTH_CUES)
    usual = _weights(fitted.SECOND_LENGTHS, TYPICAL_CUES)
    (tones, times), (usual_tones, usual_times) = length_cues(breath), typical_cues(habit)
    by_tones = tones @ plain[:4] + usual_tones @ usual[:1]
    return _pass(score, parts, by_tones, times @ plain[4:] + usual_times @ usual[1:], counting)


def _pass(score: Floats, parts: list[_Part], by_tones: Floats, by_time: Floats, counting: bool = True) -> _Found:
    """The habit is counted only where a later pass wants it."""
    chances, habits = [], []
    for part in parts:
        weighed = _weigh(part, score, by_tones, by_time)
        chances.append(core_of(part.blocks, weighed.chance))
        if counting:
            habits.append(_habit(part, weighed))
    chance: Floats = np.concatenate(chances)[: len(score)]
    chance[-1] = 1.0
    return _Found(chance, joined(habits) if habits else NO_HABIT)


def _parts(columns: Columns, breath: Breath) -> Iterator[_Part]:
    """The line's blocks, a few at a time."""
    blocks = blocks_of(columns.size, breath.reach)
    for start in range(0, blocks.places.shape[1], _AT_ONCE):
        rows = slice(start, start + _AT_ONCE)
        some = Blocks(blocks.places[:, rows], blocks.entry[:, rows], blocks.leave[:, rows], blocks.margin)
        yield _Part(some, _bins(columns, breath, some))


def _bins(columns: Columns, breath: Breath, blocks: Blocks) -> Bins:
    """The time bin of each phrase; found once for each tone, since blocks overlap."""
    places, back = blocks.places, np.arange(breath.reach)[::-1]
    tones = np.arange(places[places >= 0].min(), places.max() + 1)
    firsts = tones[:, None] - back
    times = (columns.onset + columns.ioi)[tones][:, None] - columns.onset.take(firsts, mode="clip")
    by_tone = np.where(firsts >= 0, time_bins(times, breath), NO_TIME)
    bins = by_tone.take(places - tones[0], axis=0, mode="clip")
    bins[places < 0] = NO_TIME
    bins = np.ascontiguousarray(bins.transpose(0, 2, 1))
    before_block = np.arange(len(places))[: breath.reach, None] < back
    bins[: breath.reach][before_block] = NO_TIME
    return bins


def _weigh(part: _Part, score: Floats, by_tones: Floats, by_time: Floats) -> _Weighed:
    """Chances from the cuts' scores (one a tone) and the phrases' scores by number of tones and by time bin."""
    places = part.blocks.places
    cut = np.exp(np.clip(np.where(places == len(score) - 1, 0.0, score[places]), _LOW, _HIGH))
    # Products of factors instead of one exponential a phrase: a table look-up is far cheaper.
    weights: Floats = np.append(np.exp(np.clip(by_time, _LOW, _HIGH)), 0.0).take(part.bins)
    weights *= np.exp(np.clip(by_tones, _LOW, _HIGH))[::-1, None]
    weights *= cut[:, None, :]
    ahead, back, total = sums_of(weights, part.blocks.entry, part.blocks.leave)
    after = back[1:] - total
    return _Weighed(np.nan_to_num(np.exp(np.minimum(ahead[1:] + after, 0.0))), weights, ahead, after)


def _habit(part: _Part, weighed: _Weighed) -> Habit:
    """How often the phrases that end in the blocks' cores have each time and number of tones.

    The chance of a phrase: all ways before it, its own factor, all ways after it.
    """
    size, reach, batch = weighed.weights.shape
    padded = np.concatenate([np.full((reach - 1, batch), -np.inf), weighed.ahead])
    before = np.lib.stride_tricks.sliding_window_view(padded, reach, axis=0)[:size].transpose(0, 2, 1)
    core = slice(part.blocks.margin, size - part.blocks.margin)
    chance = before[core] + weighed.after[core, None, :]
    np.clip(chance, -700.0, 600.0, out=chance)
    np.exp(chance, out=chance)
    chance *= weighed.weights[core]
    np.nan_to_num(chance, copy=False)
    return habit_of(part.bins[core], np.minimum(chance, 1.0, out=chance))
