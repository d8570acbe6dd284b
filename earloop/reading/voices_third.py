"""A third line: one of two lines, heard alone, that itself splits in two beyond doubt.

Only lines that still leap are tried, so a plain two-line texture costs nothing here.
"""

from __future__ import annotations

import numpy as np

from earloop.reading.voices_chain import upper_chances
from earloop.reading.voices_cues import Flags, Floats, Ints
from earloop.reading.voices_streams import two_line_chances

FEWEST = 24
"""Tones a line needs before it is tried."""
LEAPING = 3.5
"""Mean step in semitones (an octave at most) above which a line is tried; real voices mostly stay under 3."""
DOUBT = -0.1
"""Log-odds each tone must bring beyond what two lines need: set by hand. One of 248 two-part folds still parts."""
CERTAIN = 0.8


def find_third(midi: Ints, length: Floats, split: Flags, upper: Floats) -> tuple[Floats, Floats]:
    """The chances of the middle line (0 where none is heard) and, where it isn't, of the upper one; both [N].

    `split` marks the tones read in two lines and `upper` their chance of the upper one. Of the two lines the one
    that splits most clearly is taken. Its outer half is kept; all the rest is then parted afresh, for a middle
    tone may first have been taken into either line.
    """
    best: tuple[float, Floats, Floats] = (0.0, np.zeros(len(midi)), upper)
    for outer_is_upper, side in ((True, split & (upper > 0.5)), (False, split & (upper <= 0.5))):
        places = np.flatnonzero(side)
        if len(places) < FEWEST or np.minimum(np.abs(np.diff(midi[places])), 12).mean() < LEAPING:
            continue
        high = upper_chances(midi[places], length[places], np.ones((len(places), 2)))
        apart = two_line_chances(midi[places], high, np.full(len(places), DOUBT))
        if apart.mean() > best[0] and (apart > CERTAIN).any():
            passage = split & (np.interp(np.arange(len(midi)), places, apart) > CERTAIN)
            outer = np.zeros(len(midi), dtype=np.bool_)
            outer[places] = high > 0.5 if outer_is_upper else high <= 0.5
            best = (float(apart.mean()), *_parted_afresh(midi, length, upper, passage, outer, outer_is_upper))
    return best[1], best[2]


def _parted_afresh(
    midi: Ints, length: Floats, upper: Floats, passage: Flags, outer: Flags, outer_is_upper: bool
) -> tuple[Floats, Floats]:
    """Chances of the middle and the upper line once the tones inside the outer line are split again."""
    middle, above = np.zeros(len(midi)), upper.copy()
    rest = np.flatnonzero(passage & ~outer)
    if len(rest):
        high = upper_chances(midi[rest], length[rest], np.ones((len(rest), 2)))
        middle[rest] = high if outer_is_upper else 1.0 - high
        above[rest] = 0.0 if outer_is_upper else 1.0
    return middle, above
