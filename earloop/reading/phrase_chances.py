"""The chance of a phrase end on each tone: two passes over the line, the second knowing what the first found.

The first pass weighs local cues, parallels and a breath's usual length. The second adds how long this line's
phrases are and whether like places elsewhere end a phrase.
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
    TYPICAL_CUES,
    Breath,
    Habit,
    habit_of,
    joined,
    length_cues,
    time_bins,
    typical_cues,
)
from earloop.reading.phrase_parallels import ECHO_CUES, PARALLEL_CUES, echo_cues, parallel_cues
from earloop.reading.phrase_segments import Blocks, blocks_of, cores, sums_of

_AT_ONCE = 16
"""Blocks worked on side by side: enough for speed, few enough for memory."""
_LOW, _HIGH = -25.0, 12.0


class _Part(NamedTuple):
    """Some blocks of the line with each possible phrase's time and whether it lies in the line; [b, t, k]."""

    blocks: Blocks
    times: Floats
    possible: np.ndarray
    core: np.ndarray


class _Pass(NamedTuple):
    chance: Floats
    """Of an end on each place [b, t]."""
    phrases: Floats
    """Of each phrase [b, t, k]."""


def end_chances(columns: Columns, tonic: int, breath: Breath, bias: Floats) -> Floats:
    """The chance (0..1) that a phrase ends on each tone; 1 on the last. `bias` is added to each tone's score."""
    cues = np.column_stack([local_cues(columns, tonic), parallel_cues(columns)])
    names = LOCAL_CUES + PARALLEL_CUES
    score = cues @ _weights(fitted.FIRST_CUTS, names) + fitted.FIRST_CUTS["start"] + bias
    blocks = blocks_of(columns.size, breath.reach)
    chance, habit = _first(columns, score, breath, blocks)
    echoes = echo_cues(columns, chance)
    score = cues @ _weights(fitted.SECOND_CUTS, names) + echoes @ _weights(fitted.SECOND_CUTS, ECHO_CUES)
    return _second(columns, score + fitted.SECOND_CUTS["start"] + bias, breath, blocks, habit)


def _weights(table: dict[str, float], names: tuple[str, ...]) -> Floats:
    return np.array([table.get(name, 0.0) for name in names])


def _first(columns: Columns, score: Floats, breath: Breath, blocks: Blocks) -> tuple[Floats, Habit]:
    """Each tone's chance, and the time and number of tones that the line's phrases have."""
    weights = _weights(fitted.FIRST_LENGTHS, LENGTH_CUES)
    found, habits = [], []
    for part in _parts(columns, blocks, breath.reach):
        result = _weigh(part, score, length_cues(part.times, breath) @ weights)
        found.append(cores(part.blocks, result.chance).ravel())
        habits.append(habit_of(time_bins(part.times, breath), result.phrases * part.core[:, :, None]))
    return _closed(found, columns.size), joined(habits)


def _second(columns: Columns, score: Floats, breath: Breath, blocks: Blocks, habit: Habit) -> Floats:
    """Each tone's chance with the line's habit of phrase length known."""
    plain = _weights(fitted.SECOND_LENGTHS, LENGTH_CUES)
    usual = _weights(fitted.SECOND_LENGTHS, TYPICAL_CUES)
    found = []
    for part in _parts(columns, blocks, breath.reach):
        own = np.zeros(part.times.shape)
        lengths = length_cues(part.times, breath) @ plain
        lengths += typical_cues(time_bins(part.times, breath), own, habit) @ usual
        found.append(cores(part.blocks, _weigh(part, score, lengths).chance).ravel())
    return _closed(found, columns.size)


def _closed(found: list[Floats], size: int) -> Floats:
    chance: Floats = np.concatenate(found)[:size]
    chance[-1] = 1.0
    return chance


def _parts(columns: Columns, blocks: Blocks, reach: int) -> Iterator[_Part]:
    """The blocks a few at a time."""
    ends = columns.onset + columns.ioi
    back = np.arange(reach)
    for start in range(0, len(blocks.places), _AT_ONCE):
        rows = slice(start, start + _AT_ONCE)
        places = blocks.places[rows]
        some = Blocks(places, blocks.entry[rows], blocks.leave[rows], blocks.margin)
        firsts = places[:, :, None] - back
        within = np.arange(places.shape[1])[None, :, None] >= back
        possible = (places[:, :, None] >= 0) & (firsts >= 0) & within
        times = np.where(possible, ends[places][:, :, None] - columns.onset[np.maximum(firsts, 0)], 1.0)
        core = np.zeros(places.shape)
        cores(some, core)[:] = 1.0
        yield _Part(some, times, possible, core)


def _weigh(part: _Part, score: Floats, lengths: Floats) -> _Pass:
    """Chances from the cuts' scores (one a tone) and the phrases' scores [b, t, k]."""
    places = part.blocks.places
    size = len(score)
    cut = np.where(places == size - 1, 0.0, score[places])
    weights = np.where(part.possible, np.exp(np.clip(cut[:, :, None] + lengths, _LOW, _HIGH)), 0.0)
    ahead, back, total = sums_of(weights, part.blocks.entry, part.blocks.leave)
    chance = np.exp(np.minimum(ahead[:, 1:] + back[:, 1:] - total[:, None], 0.0))
    reach = weights.shape[2]
    padded = np.concatenate([np.full((len(ahead), reach - 1), -np.inf), ahead], axis=1)
    before = np.lib.stride_tricks.sliding_window_view(padded, reach, axis=1)[:, : ahead.shape[1] - 1, ::-1]
    phrases = np.exp(np.minimum(before + (back[:, 1:] - total[:, None])[:, :, None], 600.0)) * weights
    return _Pass(np.nan_to_num(chance), np.minimum(np.nan_to_num(phrases), 1.0))
