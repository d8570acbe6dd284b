"""What speaks for a breath after each tone: local cues, one column each, seen from the tone that would end a phrase.

Sources of the ideas: proximity and change in time and pitch (Lerdahl & Jackendoff 1983, grouping preference rules
2 and 3; Cambouropoulos 2001), the close on tonic or fifth and the short upbeat after it (common practice, no
source). All are relative (to the line's median time between onsets, to the home tonic), so that neither
transposition nor the choice of note values changes them.
"""

from __future__ import annotations

import numpy as np

from earloop.line import Columns
from earloop.line.line import Floats

RHYTHM_CUES = (
    "long",
    "longer than before",
    "longer than after",
    "longest of five",
    "long for its surroundings",
    "before a rest",
    "no rest in a line with rests",
    "short after",
    "upbeat after",
)
PITCH_CUES = (
    "leap after",
    "leap after for its surroundings",
    "same pitch after",
    "on the tonic",
    "on the second",
    "on the third",
    "on the fifth",
    "tonic after",
    "fifth after",
    "falls by step",
    "low in the range",
    "on the last pitch",
    "opening pitch after",
)
LOCAL_CUES = RHYTHM_CUES + PITCH_CUES


def at(values: Floats, shift: int, fill: float = 0.0) -> Floats:
    """The column moved so that place i holds the value of tone i + shift; `fill` beyond the line."""
    size = len(values)
    out = np.full(size, fill)
    if shift >= size or -shift >= size:
        return out
    if shift >= 0:
        out[: size - shift] = values[shift:]
    else:
        out[-shift:] = values[:shift]
    return out


def median_ioi(columns: Columns) -> float:
    """The middle time between onsets, graces left out; 1 quarter where there is none."""
    times = columns.ioi[columns.ioi > 1e-6]
    return float(np.median(times)) if len(times) else 1.0


def log_times(columns: Columns) -> Floats:
    """log2 of each tone's time to the next onset against the line's median, within four halvings and doublings."""
    middle = median_ioi(columns)
    return np.clip(np.log2(np.maximum(columns.ioi, middle / 16) / middle), -4.0, 4.0)


def local_cues(columns: Columns, tonic: int) -> Floats:
    """One row a tone, one column for each of LOCAL_CUES. `tonic` is a pitch class."""
    return np.column_stack([*_rhythm_cues(columns), *_pitch_cues(columns, tonic)])


def _rhythm_cues(columns: Columns) -> list[Floats]:
    time = log_times(columns)
    before, after, second = at(time, -1, time[0]), at(time, 1, time[-1]), at(time, 2, time[-1])
    near = np.maximum(np.maximum(before, after), np.maximum(at(time, -2, -4), second))
    sums = np.cumsum(np.concatenate([np.ones(5), np.exp2(time), np.ones(4)]))
    around = (sums[9:] - sums[:-9]) / 9
    rest = (columns.gap > 0).astype(float)
    return [
        np.clip(time, -2, 2),
        np.clip(time - before, -2, 2),
        np.clip(time - after, -2, 2),
        (time > near + 1e-3).astype(float),
        np.clip(time - np.log2(around), -2, 2),
        rest,
        (1 - rest) * rest.max(),
        np.clip(-after, -1, 1),
        np.clip(second - after, -1, 2),
    ]


def _pitch_cues(columns: Columns, tonic: int) -> list[Floats]:
    # Counted from the first tone, so that transposing changes no rounding.
    midi = (columns.midi - columns.midi[0]).astype(float)
    size = np.minimum(np.abs(columns.interval.astype(float)), 12)
    leap, leap_before, leap_after = at(size, 1), size, at(size, 2)
    degree = (columns.midi - tonic) % 12
    after = np.roll(degree, -1)
    height = np.clip((midi - midi.mean()) / max(1.0, float(midi.std())), -2, 2)
    return [
        leap / 12,
        np.clip(leap - (leap_before + leap_after) / 2, -6, 12) / 12,
        (at(columns.interval.astype(float), 1) == 0).astype(float),
        (degree == 0).astype(float),
        (degree == 2).astype(float),
        ((degree == 3) | (degree == 4)).astype(float),
        (degree == 7).astype(float),
        (after == 0).astype(float),
        (after == 7).astype(float),
        ((columns.interval == -1) | (columns.interval == -2)).astype(float),
        np.maximum(-height, 0),
        (columns.midi == columns.midi[-1]).astype(float),
        at((columns.midi == columns.midi[0]).astype(float), 1),
    ]
