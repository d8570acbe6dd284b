"""Gestures inside phrases: smaller groups, often a short approach to one long tone (agogic accent).

The longer tone closes a group, and so do a rest, a leap wider than the steps around it, the end of a slur and the
start of a pattern heard elsewhere (Lerdahl & Jackendoff 1983, grouping preference rules 2, 3 and 6). The weights are
set by hand: no open truth for gestures is at hand.
"""

from __future__ import annotations

import numpy as np

from earloop.line import Line, Span
from earloop.line.line import Floats, Ints
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.gesture_repeats import statement_scores
from earloop.reading.phrase_cues import at, log_times
from earloop.reading.phrase_parallels import alphabets, repeat_starts
from earloop.reading.phrase_signs import slur_scores

LENGTHS = np.array([-2.5, -0.4, 0.0, 0.0, -0.2, -0.4, -0.8, -1.6, -2.6, -3.6, -4.6, -5.6])
"""Score of a gesture of 1, 2 … 12 tones: mostly 2 to 7 (common practice, no source)."""
_PIECE = 64
_BARRED = -50.0


def find_gestures(line: Line, phrases: tuple[Span, ...], decided: Decisions = NONE_DECIDED) -> tuple[Span, ...]:
    """Gestures in order, covering the line; every phrase end is also a gesture end, and so is each decided one."""
    size = len(line)
    ends = np.zeros(size, dtype=bool)
    ends[[span.last for span in phrases]] = True
    fixed = ends.copy()
    score = gesture_scores(line)
    score = score + statement_scores(line.columns, score, np.flatnonzero(ends))
    barred = np.zeros(size, dtype=bool)
    for index, on in decided.gesture_ends.items():
        if 0 <= index < size and not ends[index]:
            (fixed if on else barred)[index] = True
    score[barred | line.columns.grace] = _BARRED
    found = _best_cuts(score, np.flatnonzero(fixed))
    lasts = np.flatnonzero(fixed | (found & ~barred & ~line.columns.grace)).tolist()
    firsts = [0, *(i + 1 for i in lasts[:-1])]
    return tuple(Span(a, b) for a, b in zip(firsts, lasts, strict=True))


def gesture_scores(line: Line) -> Floats:
    """How much speaks for a gesture's end on each tone, in arbitrary units; above 0 more for than against."""
    columns = line.columns
    time = log_times(columns)
    before, after = at(time, -1, time[0]), at(time, 1, time[-1])
    size = np.minimum(np.abs(columns.interval).astype(float), 12.0)
    leap = at(size, 1) - (size + at(size, 2)) / 2
    times, steps, _ = alphabets(columns)
    score: Floats = 1.2 * np.clip(time - after, -1.0, 2.0) + 0.6 * np.clip(time - before, 0.0, 2.0)
    score += 1.5 * (columns.gap > 0) + 0.12 * np.clip(leap, -4.0, 8.0)
    score += 0.6 * repeat_starts(times * 1009 + steps, 3) - 0.8
    return score + slur_scores(line)


def _best_cuts(score: Floats, fixed: Ints) -> np.ndarray:
    """The highest-scoring cuts between the fixed ones, all stretches side by side."""
    firsts, sizes = _pieces(score, fixed)
    longest = int(sizes.max())
    places = firsts[:, None] + np.arange(longest)
    gain = np.where(np.arange(longest) < sizes[:, None] - 1, score[np.minimum(places, len(score) - 1)], 0.0)
    reach = len(LENGTHS)
    best = np.full((len(firsts), longest + reach), -1e9)
    best[:, reach - 1] = 0.0
    taken = np.zeros((len(firsts), longest), dtype=np.int64)
    for t in range(longest):
        ways = best[:, t : t + reach] + LENGTHS[::-1]
        choice = ways.argmax(axis=1)
        taken[:, t] = reach - choice
        best[:, t + reach] = np.take_along_axis(ways, choice[:, None], axis=1)[:, 0] + gain[:, t]
    found = np.zeros(len(score), dtype=bool)
    for row, (first, size) in enumerate(zip(firsts.tolist(), sizes.tolist(), strict=True)):
        steps, place = taken[row].tolist(), size - 1
        while place >= 0:
            found[first + place] = True
            place -= steps[place]
    return found


def _pieces(score: Floats, fixed: Ints) -> tuple[Ints, Ints]:
    """First tones and sizes of the stretches between fixed ends; very long ones are cut where most speaks for it."""
    firsts, sizes = [], []
    first = 0
    for last in fixed.tolist():
        while last - first >= _PIECE:
            cut = first + _PIECE // 2 + int(np.argmax(score[first + _PIECE // 2 : first + _PIECE]))
            firsts.append(first)
            sizes.append(cut - first + 1)
            first = cut + 1
        firsts.append(first)
        sizes.append(last - first + 1)
        first = last + 1
    return np.array(firsts), np.array(sizes)
