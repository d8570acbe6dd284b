"""When a tone begins: where its loudness rises, or else where its pitch is reached; and where it is let go.

A frame of the pitch track looks at WINDOW of sound, and says a pitch as soon as a part of it that grows with the period
is filled; so the first pitched frame is early where it is quiet around, late where the tone is low or in noise. What is
heard as the onset of a tone is its sound coming within 6 to 15 decibels of its full strength (Vos & Rasch 1981,
Perception & Psychophysics 29, 323-335, from memory).
"""

from __future__ import annotations

import numpy as np

from earloop.hearing.pitch_track import CLOSE, HOP, LOWEST, PitchTrack

BACK, AHEAD = 10, 8
"""Frames before and after the first pitched one within which the rise is sought."""
FULL = (3, 15)
"""Frames of the tone that tell its full strength."""
RISE = 8.0
"""Decibels that the loudness must rise by; else the pitch alone tells."""
BELOW = 10.0
"""Decibels below its full strength at which a tone has begun; no lower than half-way up from what was before."""

LATE = 15
"""Frames whose mean power, up to the last, tells how strong a tone is when it is let go."""
LET_GO, LONGEST = 3.0, 7
"""Decibels below that from which on a tone is dying away, and frames that this takes at most."""


def onset_of(track: PitchTrack, first: int, last: int, before: int) -> float:
    """Second at which the tone of frames `first` to `last` - 1 begins; the tone before it ends at frame `before`."""
    risen = _risen(track, first, last, before)
    if risen is not None:
        return risen
    # The difference function reaches over a part of the window and one period more: its middle lies before the frame's.
    period = 1 / (440 * 2 ** ((float(np.nanmedian(track.midi[first:last])) - 69) / 12))
    return float(track.time[first]) - HOP / 2 - max(0.0, 1 / LOWEST - period) / 2


def _risen(track: PitchTrack, first: int, last: int, before: int) -> float | None:
    begin = max(before, first - BACK, 0)
    loud = track.decibels[begin : min(last, first + AHEAD)]
    full = float(np.median(track.decibels[first:last][FULL[0] : FULL[1]])) if last - first > FULL[0] else -np.inf
    low = int(np.argmin(loud[: first - begin + 3]))
    rise = full - float(loud[low])
    if rise < RISE:
        return None
    mark = full - min(BELOW, rise / 2)
    above = np.flatnonzero(loud[low:] >= mark)
    if not len(above):
        return None
    at = low + int(above[0])
    share = (mark - loud[at - 1]) / (loud[at] - loud[at - 1]) if at else 1.0
    # Of a tone that begins at once, the loudness of CLOSE seconds reaches the mark when this part of them is filled.
    filled = 10 ** ((mark - full) / 10)
    return float(track.time[begin + at] - HOP * (1 - share) + (0.5 - filled) * CLOSE)


def let_go(track: PitchTrack, first: int, last: int) -> int:
    """The frame from which on the tone of frames `first` to `last` - 1 only dies away: `last` where it doesn't.

    What is left of it in a room, and what of the next tone comes into the frames there, tell its pitch no more.
    """
    loud = track.decibels[first:last]
    power = np.mean(10 ** (loud[-LATE:] / 10))
    sounding = np.flatnonzero(loud >= 10 * np.log10(power) - LET_GO)
    return max(first + int(sounding[-1]) + 1, last - min(LONGEST, (last - first) // 3))
