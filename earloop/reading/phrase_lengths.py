"""How long a phrase is: a breath's worth of tones and time, and above all as long as the line's other phrases.

In folk song a phrase has 8 tones in the middle, 71 % between 6 and 10 (measured on the Essen collection). A dense
or evenly running line has more tones in a breath: what a breath holds is time (common practice, no source).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.line.line import Floats
from earloop.reading.phrase_cues import log_times, median_ioi

LENGTH_CUES = (
    "tones",
    "tones squared",
    "far too few tones",
    "far too many tones",
    "time",
    "time squared",
    "far too little time",
    "far too much time",
)
TYPICAL_CUES = (
    "the line's phrase tones",
    "the line's phrase time, exactly",
    "the line's phrase time, roughly",
)
USUAL_TEMPO = 90.0
"""Quarters a minute where the score gives none (common practice, no source)."""
BREATH = 6.0
"""Seconds that a phrase of an evenly running line lasts about (common practice, no source)."""
LONGEST_BREATH = 16.0
"""Seconds: slow tones share it out, however few they are (common practice, no source)."""
MOST_TONES = 48.0
Bins = NDArray[np.int16]
BINS = 480
"""Bins of log time, 48 to an octave, from an eighth of the median time between onsets up."""
NO_TIME = BINS
"""The bin of a phrase that cannot be."""
_PER_OCTAVE, _MIDDLE = 48, 150
_WIDTHS = (0.6, 12.0)


class Breath(NamedTuple):
    """What is expected of a phrase: `tones`, `time` in quarters, and `reach`, the most tones considered."""

    tones: float
    time: float
    reach: int
    middle: float


def breath_of(line: Line) -> Breath:
    """The phrase expected in this line from its length, density, variety of note values and tempo."""
    middle = median_ioi(line.columns)
    tones = float(_tones_of(np.array([middle]), line)[0])
    # One tone held for minutes must not stretch what is expected of the others.
    usual = float(np.minimum(line.columns.ioi, 8 * middle).mean())
    return Breath(tones, max(usual, 0.25 * middle) * tones, min(72, int(2.4 * tones)), middle)


def breath_shares(line: Line) -> Floats:
    """What share of a breath each tone takes, by the density around it (17 tones)."""
    times = line.columns.ioi
    sums = np.concatenate([[0.0], np.cumsum(times)])
    low = np.maximum(np.arange(len(times)) - 8, 0)
    high = np.minimum(np.arange(len(times)) + 9, len(times))
    around = (sums[high] - sums[low]) / (high - low)
    seconds = _seconds(around, line)
    shares: Floats = 1.0 / np.minimum(_tones_of(around, line), np.maximum(2.0, LONGEST_BREATH / seconds))
    return shares


def _seconds(times: Floats, line: Line) -> Floats:
    return np.maximum(1e-3, times * 60.0 / (line.tempo if line.tempo and line.tempo > 0 else USUAL_TEMPO))


def _tones_of(times: Floats, line: Line) -> Floats:
    """How many tones a breath holds where tones follow one another at `times` quarters.

    The numbers are a regression on the Essen development half: longer tunes and livelier rhythms have longer phrases.
    """
    ioi, middle = line.columns.ioi, median_ioi(line.columns)
    seconds = _seconds(times, line)
    size = min(np.log(len(ioi)), np.log(300.0))
    variety = float(np.abs(log_times(line.columns)).mean())
    tones = np.exp(1.75 + 0.025 * size * size + 0.17 * variety) * np.maximum(1.0, 0.333 / seconds) ** 0.5
    even = float(np.mean(np.abs(ioi - middle) <= 0.1 * middle))
    share = min(1.0, max(0.0, (even - 0.8) / 0.15))
    held: Floats = tones ** (1 - share) * np.maximum(tones, BREATH / seconds) ** share
    return np.minimum(MOST_TONES, held)


def time_bins(times: Floats, breath: Breath) -> Bins:
    """The bin of log time of each phrase, 48 to an octave."""
    # One array worked on in place: a line's phrases are many, and fresh memory costs more than the sums.
    octaves = np.maximum(times, 0.125 * breath.middle)
    np.log2(octaves, out=octaves)
    octaves -= np.log2(breath.middle)
    octaves *= _PER_OCTAVE
    octaves += _MIDDLE + 0.5
    return np.minimum(octaves, BINS - 1, out=octaves).astype(np.int16)


def length_cues(breath: Breath) -> tuple[Floats, Floats]:
    """Cues of a phrase's length: by its number of tones, 1 to reach, and by its time bin; four columns each."""
    time = np.exp2((np.arange(BINS) - _MIDDLE) / _PER_OCTAVE) * breath.middle
    return _curve(np.log(np.arange(1, breath.reach + 1) / breath.tones)), _curve(np.log(time / breath.time))


def _curve(log_ratio: Floats) -> Floats:
    # Beyond these the folk songs say nothing: no cue may grow without bound there.
    log_ratio = np.clip(log_ratio, -3.0, 2.0)
    low, high = np.maximum(-log_ratio - 0.4, 0) ** 2, np.maximum(log_ratio - 0.4, 0) ** 2
    return np.column_stack([log_ratio, log_ratio * log_ratio, low, high])


class Habit(NamedTuple):
    """How many of the line's phrases, over all segmentations, have a time (by bin) or number of tones."""

    times: Floats
    tones: Floats


NO_HABIT = Habit(np.zeros(BINS), np.zeros(1))


def habit_of(bins: Bins, chance: Floats) -> Habit:
    """The habit from phrases' time bins and chances, both [t, j, b] (see `phrase_segments`)."""
    times = np.bincount(bins.ravel(), weights=chance.ravel(), minlength=BINS + 1)[:BINS].astype(np.float64)
    return Habit(times, chance.sum(axis=(0, 2))[::-1])


def joined(habits: list[Habit]) -> Habit:
    """The habit of all parts together."""
    return Habit(np.sum([h.times for h in habits], axis=0), np.sum([h.tones for h in habits], axis=0))


def typical_cues(habit: Habit) -> tuple[Floats, Floats]:
    """How usual a phrase's number of tones (one column) and time bin (two columns) are in the line."""
    total = float(habit.tones.sum()) + 1e-9
    times = []
    for width in _WIDTHS:
        away = np.arange(-int(4 * width) - 1, int(4 * width) + 2) / width
        times.append(np.convolve(habit.times, np.exp(-0.5 * away * away), "same"))
    tones = np.convolve(habit.tones, [0.25, 0.5, 1.0, 0.5, 0.25], "full")[2:-2]
    return np.log((tones[:, None] + 0.1) / total), np.log((np.column_stack(times) + 0.1) / total)
