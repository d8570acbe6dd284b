"""Pitch track → the tones that were sung.

A steady tone is a stretch the pitch stays near, however it swings: the track is fitted by levels, each change of level
costing CHANGE, the distance from the level counted up to FAR. A vibrato of ±80 cents at 5 Hz saves less by changing
than it costs; a semitone step of 100 ms saves more. A slower wide one may fall to pieces, as may a tone in noise:
`alignment` puts them together, since it knows what was asked for. What is left of a glide between two levels is short
and is dropped. The constants follow from that sum (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from earloop.hearing.onsets import let_go, onset_of
from earloop.hearing.pitch_track import HOP, Floats, PitchTrack
from earloop.hearing.swing import centre, take_swing

Frames = NDArray[np.int64]

GRID = 0.2
CHANGE = 3.6
"""Semitones × frames that a change of level costs."""
FAR = 1.5
BREAK = 4
"""Unpitched frames in a row that end a tone; fewer are bridged."""
SHORTEST = 0.06
GLIDE_LENGTH, GLIDE = 0.14, 8.0
"""A stretch no longer than this (seconds) that moves on by more than this (semitones a second) is a glide."""
STEADY = 0.15
"""Semitones within which half of a stretch stays that is no glide, though the sound may end in stray frames."""
DIP = 6
"""Decibels by which loudness falls and comes back between two tones on one pitch."""
DIP_REACH = 20


@dataclass(frozen=True, slots=True)
class SungTone:
    """`onset` and `length` in seconds; `midi` is the fractional key the tone settles on.

    `contour` is its pitch, one fractional key each HOP and NaN where unpitched; empty where none is known, as from a
    keyboard.
    """

    onset: float
    length: float
    midi: float
    contour: tuple[float, ...] = field(default=(), repr=False, compare=False)


def tones_sung(track: PitchTrack) -> tuple[SungTone, ...]:
    """The sung tones in order."""
    pieces: list[tuple[float, Floats]] = []
    before = 0
    for start, end in _breaths(track):
        frames = np.arange(start, end)
        frames = frames[track.pitched[start:end]]
        for part in np.split(frames, _changes(track.midi[frames])):
            for piece in _struck_again(part, track.decibels):
                first, last = (int(piece[0]), int(piece[-1]) + 1) if len(piece) else (0, 0)
                if (last - first) * HOP >= SHORTEST and not _glides(track.midi[piece]):
                    onset = onset_of(track, first, last, before)
                    pieces.append((onset, _from(onset, track, first, last)))
                    before = last
    swing = take_swing([contour for _, contour in pieces])
    return tuple(
        SungTone(onset, len(contour) * HOP, centre(contour, swing), tuple(contour.tolist()))
        for onset, contour in pieces
    )


def _from(onset: float, track: PitchTrack, first: int, last: int) -> Floats:
    """The contour of frames `first` to `last` - 1, begun at the onset: unpitched until `first`, or cut.

    Where the tone only dies away it is told as unpitched.
    """
    early = round((float(track.time[first]) - HOP / 2 - onset) / HOP)
    unpitched = np.full(max(0, early), np.nan)
    begin, end = first + min(max(0, -early), (last - first) // 4), let_go(track, first, last)
    return np.concatenate([unpitched, track.midi[begin:end], np.full(last - end, np.nan)])


def _glides(midi: Floats) -> bool:
    third = len(midi) // 3
    if np.mean(np.abs(midi - np.median(midi)) < STEADY) > 0.5:
        return False
    moved = abs(float(np.median(midi[-third:]) - np.median(midi[:third])))
    return len(midi) * HOP <= GLIDE_LENGTH and moved > GLIDE * (len(midi) - third) * HOP


def _breaths(track: PitchTrack) -> list[tuple[int, int]]:
    """Stretches of frames with no unpitched gap of BREAK frames or more."""
    at = np.flatnonzero(track.pitched)
    if not len(at):
        return []
    parts = np.split(at, np.flatnonzero(np.diff(at) > BREAK) + 1)
    return [(int(part[0]), int(part[-1]) + 1) for part in parts]


def _changes(midi: Floats) -> list[int]:
    """Where the best fit by levels changes level: a shortest path, one column of levels a frame."""
    low = float(np.min(midi))
    levels = np.arange(low, float(np.max(midi)) + GRID, GRID)
    cost = np.zeros(len(levels))
    came = np.zeros((len(midi), len(levels)), dtype=np.int32)
    own = np.arange(len(levels))
    for k, value in enumerate(midi):
        best = int(np.argmin(cost))
        stay = cost <= cost[best] + CHANGE
        came[k] = np.where(stay, own, best)
        cost = np.where(stay, cost, cost[best] + CHANGE) + np.minimum(np.abs(levels - value), FAR)
    level = int(np.argmin(cost))
    changes = []
    for k in range(len(midi) - 1, 0, -1):
        if came[k, level] != level:
            changes.append(k)
            level = int(came[k, level])
    return changes[::-1]


def _struck_again(part: Frames, decibels: Floats) -> list[Frames]:
    """Split a level where its loudness dips and comes back: the same pitch once more."""
    loud = decibels[part]
    cuts: list[int] = []
    for k in range(5, len(part) - 5):
        near = loud[max(0, k - 3) : k + 4]
        before, after = loud[max(0, k - DIP_REACH) : k], loud[k + 1 : k + 1 + DIP_REACH]
        if loud[k] <= near.min() and min(before.max(), after.max()) - loud[k] >= DIP and (not cuts or k - cuts[-1] > 6):
            cuts.append(k)
    return np.split(part, cuts)
