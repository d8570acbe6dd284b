"""How far the chance of a phrase end is to be believed, and from which chance on a phrase ends.

The second pass knows what it has found elsewhere in the line, and so talks itself into certainty, above all where
phrases are of no one length. It is therefore weighed against the first pass, which knows nothing of that, and believed
less where the line leaves much open and where its phrases are unequal: logistic calibration with the line's own state
as a cue (Platt 1999 for the method). Where no even measure carries the line, what is said of the ends so found is drawn
towards doubt (one slope, as temperature scaling: Guo et al. 2017) and never goes beyond what was found right there.
"""

from __future__ import annotations

import numpy as np

from earloop.line import Columns, Line
from earloop.line.line import Flags, Floats, Ints
from earloop.reading.phrase_chances import Chances
from earloop.reading.phrase_coefficients import FREE_MOST, FREE_SLOPE, SURE_CUES

EXPECTED_F1, EXPECTED_OF = 0.72, 10.0
"""What F1 is expected of a line before anything is known of it, and how many phrase ends that counts as much as."""
LEAST = 0.2
"""No end is less likely than this, however little the line says."""


def sure_cues(columns: Columns, chances: Chances, free: Flags, ends: Ints) -> Floats:
    """One row a tone, one column for each of SURE_CUES.

    `free` are the tones on which guesses may end a phrase, `ends` the last tones of the phrases the chances suggest.
    """
    first, second = _odds(chances.first), _odds(chances.second)
    own = np.clip(np.where(free, chances.second, 0.0), 1e-9, 1 - 1e-9)
    doubt = float(-(own * np.log(own) + (1 - own) * np.log(1 - own)).sum())
    much = np.ones(columns.size)
    open_ = much * doubt / (float(own.sum()) + 0.5)
    unequal = much * _unequal(columns, ends)
    return np.column_stack([much, second, first, open_, open_ * second, unequal, unequal * second])


def believed(columns: Columns, chances: Chances, free: Flags, ends: Ints) -> Floats:
    """The calibrated chance: of ends said to be 90 % sure, about nine in ten are right."""
    odds = sure_cues(columns, chances, free, ends) @ np.array(list(SURE_CUES.values()))
    return np.asarray(1 / (1 + np.exp(-np.clip(odds, -30.0, 30.0))))


def said_of(line: Line, chance: Floats) -> Floats:
    """What is said of ends by their calibrated chances: less where the line has no meter, or more than one."""
    kinds = {(meter.beats, meter.unit) for _, meter in line.meters}
    return chance if len(kinds) == 1 else said_freely(chance)


def said_freely(chance: Floats, slope: float = FREE_SLOPE, most: float = FREE_MOST) -> Floats:
    """The same in a line without an even measure: log odds times `slope`, and no more than `most`."""
    return np.asarray(np.minimum(1 / (1 + np.exp(-slope * _odds(chance))), most))


def threshold(chance: Floats) -> float:
    """From which chance on a phrase ends: half the F1 that can be had in the line (Lipton et al. 2014).

    The F1 to be had follows from the chances themselves, drawn to what is usual so that short lines don't stray.
    """
    best = np.sort(chance)[::-1]
    hits = np.cumsum(best) + EXPECTED_F1 * EXPECTED_OF
    of = np.arange(1, len(best) + 1) + float(best.sum()) + 2 * EXPECTED_OF
    return max(LEAST, float((hits / of).max()))


def _odds(chance: Floats) -> Floats:
    inside = np.clip(chance, 1e-6, 1 - 1e-6)
    return np.asarray(np.log(inside / (1 - inside)))


def _unequal(columns: Columns, ends: Ints) -> float:
    """How far phrases' times are from the middle one, in octaves, each at most one; half of one for a single phrase."""
    if not len(ends):
        return 0.5
    borders = np.concatenate([[-1], ends, [columns.size - 1]])
    times = (columns.onset + columns.ioi)[borders[1:]] - columns.onset[borders[:-1] + 1]
    away = np.log2(np.maximum(times, 1e-6) / max(float(np.median(times)), 1e-6))
    return float(np.minimum(np.abs(away), 1.0).mean())
