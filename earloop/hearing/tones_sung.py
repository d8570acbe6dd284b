"""Pitch track → the tones that were sung.

A steady tone is a stretch the pitch stays near, however it swings: the track is fitted by levels, each change of level
costing CHANGE, the distance from the level counted up to FAR. A vibrato of ±80 cents at 5 Hz saves less by changing
than it costs; a semitone step of 100 ms saves more. What is left of a glide between two levels is short and is dropped.
The constants follow from that sum (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.hearing.pitch_track import HOP, Floats, PitchTrack

Frames = NDArray[np.int64]

GRID = 0.2
CHANGE = 3.6
"""Semitones × frames that a change of level costs."""
FAR = 1.5
BREAK = 4
"""Unpitched frames in a row that end a tone; fewer are bridged."""
SHORTEST = 0.06
GLIDE_LENGTH, GLIDE = 0.14, 0.7
"""A stretch no longer than this (seconds) that moves on by more than this (semitones) is a glide."""
SCOOP_LENGTH, SCOOP, SAME_LEVEL = 0.15, 0.8, 0.15
"""Seconds and semitones; a stretch nearer than SAME_LEVEL was struck again and stays a tone of its own."""
SWINGS = np.arange(4.0, 8.01, 0.5)
"""Vibrato in hertz (common practice, no source)."""
DIP = 5.0
"""Decibels by which loudness falls and comes back between two tones on one pitch."""
DIP_REACH = 20


@dataclass(frozen=True, slots=True)
class SungTone:
    """`onset` and `length` in seconds; `midi` is the fractional key the tone settles on."""

    onset: float
    length: float
    midi: float


def tones_sung(track: PitchTrack) -> tuple[SungTone, ...]:
    """The sung tones in order."""
    found: list[SungTone] = []
    for first, last in _breaths(track):
        frames = np.arange(first, last)
        frames = frames[track.pitched[first:last]]
        levels: list[Frames] = []
        for part in np.split(frames, _changes(track.midi[frames])):
            levels.extend(_struck_again(part, track.decibels))
        tones = (_settled(piece, track) for piece in _taken_in(levels, track.midi))
        found.extend(tone for tone in tones if tone is not None)
    return tuple(found)


def _taken_in(levels: list[Frames], midi: Floats) -> list[Frames]:
    """Short stretches close to a longer neighbour belong to it: a scoop, or half a swing of vibrato."""
    out: list[Frames] = []
    for piece in levels:
        if out and min(len(out[-1]), len(piece)) * HOP < SCOOP_LENGTH:
            apart = abs(float(np.median(midi[out[-1]]) - np.median(midi[piece])))
            if SAME_LEVEL < apart < SCOOP:
                out[-1] = np.concatenate([out[-1], piece])
                continue
        out.append(piece)
    return out


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


def _settled(frames: Frames, track: PitchTrack) -> SungTone | None:
    """The tone of one stretch, or None where it is too short or a glide."""
    length = len(frames) * HOP
    if length < SHORTEST:
        return None
    midi = track.midi[frames]
    third = len(frames) // 3
    if length <= GLIDE_LENGTH and abs(np.median(midi[-third:]) - np.median(midi[:third])) > GLIDE:
        return None
    edge = len(frames) // 6
    inner = midi[edge : len(frames) - edge]
    return SungTone(float(track.time[frames[0]] - HOP / 2), length, _centre(inner))


def _centre(midi: Floats) -> float:
    """The key a tone swings about: a level and one sine fitted together where that explains it, else the median.

    The median of a swing that isn't a whole number of times round is off by up to a third of its width.
    """
    plain = float(np.median(midi))
    near = np.abs(midi - plain) < FAR
    time, value = np.flatnonzero(near) * HOP, midi[near]
    best, level = 0.4 * float(np.sum((value - value.mean()) ** 2)), plain
    for hertz in SWINGS:
        if len(midi) * HOP * hertz < 0.9:
            continue
        turn = 2 * np.pi * hertz * time
        columns = np.stack([np.ones_like(turn), np.sin(turn), np.cos(turn)], axis=1)
        fitted = np.linalg.lstsq(columns, value, rcond=None)[0]
        rest = float(np.sum((value - columns @ fitted) ** 2))
        if rest < best and np.hypot(fitted[1], fitted[2]) < FAR:
            best, level = rest, float(fitted[0])
    return level
