"""What in a line or a part of it speaks for a tonic: pictures of it, each twelve numbers by pitch class.

All are counted upwards in semitones from the line's last tone, so that a transposed line gives the very same numbers.
The row names are `CUES`; `tonic_profiles` says how much each speaks for a tonic at each degree.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns, Span
from earloop.reading.tonic_pairs import PAIRS, pairs

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

PLAIN = ("time", "heard", "last", "before_last", "first", "second", "lowest", "fourth", "step_down", "leading")
"""Rows that a part of a line shows as well as a whole one:

- `time`: the share of the line's time each pitch class takes, lengths compressed by their square root; it counts for
  more in a longer line.
- `heard`: near 1 for a pitch class that is there at all, 0 for one that is missing.
- `last`, `before_last`, `first`, `second`: 1 at the pitch class of that tone, repeats of a tone taken as one; `last`
  counts for more in a longer line, since a lone phrase often ends elsewhere than at home.
- `lowest`: 1 at the pitch class of the lowest tone (authentic and plagal ranges).
- `fourth`, `step_down`, `leading`: how much of the line arrives on the pitch class by a rising fourth or falling
  fifth (5-1), by a falling whole tone (2-1), by a rising semitone (7-1).
"""
_STEPS = (2, 3, 4, 6, 7, 8, 9, 11)
_ANY_STEP = range(1, 12)
CUES = (
    *PLAIN,
    *("there", "again", "before_that", "ending", "held_ending", "low_ending", "high_ending"),
    *("highest", "next_highest", "next_lowest", "first_long"),
    *("low_time", "high_time", "early", "late", "held", "leapt", "peaks", "valleys", "long_after_short"),
    *("repeated", "triad"),
    *(f"by_{size}" for size in _STEPS),
    *(f"opening_by_{size}" for size in _ANY_STEP),
    *(f"ending_by_{size}" for size in _ANY_STEP),
    "ending_repeated",
    *PAIRS,
)
"""All rows of the evidence, those of `PLAIN` first. The others:

- `there`, `again`: 1 for a pitch class heard once or more, twice or more.
- `before_that`: 1 at the tone before the last two, repeats taken as one.
- `ending`: 1 at the pitch class of the last tone, however long the line; `held_ending`: there, octaves by which the
  last tone is longer than the usual one; `low_ending`, `high_ending`: 1 there where it is the lowest or highest tone.
- `highest`, `next_highest`, `next_lowest`: 1 at the highest tone, at the next one below it that occurs, and at the
  next one above the lowest; `first_long`: 1 at the first tone longer than the one before, after the first one.
- `low_time`, `high_time`: the pitch class's share of the time in the lower and in the upper half of the range.
- `early`, `late`, `held`: its share of the time with the first, the last or the longest tones counting most.
- `leapt`, `peaks`, `valleys`, `long_after_short`, `repeated`: its share among tones that leaps start from or reach,
  those on which the line turns down or up, those longer than the one before (agogic accent), those struck again.
- `triad`: how often three tones in a row make a major triad on it, among all triads so made.
- `by_K`: how much of the line arrives on it by K semitones upwards, or as many downwards as make the same tone in
  another octave (`by_2` a rising whole tone, `by_9` a falling minor third); the other steps are rows of `PLAIN`.
- `opening_by_K`, `ending_by_K`: 1 at the second tone, at the last tone, where it is reached so (the upbeat 5-1 is
  `opening_by_5`, a closing 2-1 `ending_by_10`); `ending_repeated`: 1 at a last tone that is struck again.
- the rows of `tonic_pairs`.
"""
_SCALE_OF_LENGTH = 16.0
"""Tones after which a line counts half as much as a very long one."""
_PRESENT = 0.04
"""Share of time at which a pitch class is half present."""
NEAR, FADING = 32, 16.0
"""Tones from either end of a line within which all count alike; so many further in a tone counts half."""
_MAJOR = {(4, 7): 0, (3, 8): 8, (5, 9): 5}
_MINOR = {(3, 7): 0, (4, 9): 9, (5, 8): 5}
"""Triads by the other two tones' semitones above the first one (modulo 12), and the root's."""


class _Parts(NamedTuple):
    """The spans a line is cut into, and for each tone its span, pitch class, weight and semitones from the one before.

    `time` is the compressed length; `near` what a tone counts for by its place; `step` is 0 on each first tone.
    """

    firsts: Ints
    lasts: Ints
    which: Ints
    classes: Ints
    time: Floats
    near: Floats
    step: Ints

    def shares(self, weights: Floats, spare: float) -> Floats:
        """The weights' sums by span and pitch class, over each span's sum and `spare`: shape (spans, 12)."""
        sums = by_class(self.which, self.classes, weights, len(self.firsts))
        return np.asarray(sums / np.maximum(sums.sum(axis=1, keepdims=True) + spare, 1e-12))

    @property
    def sounded(self) -> Ints:
        """The tones that are not struck again: each span's first, and those that move."""
        starts = np.zeros(len(self.step), dtype=bool)
        starts[self.firsts] = True
        return np.flatnonzero((self.step != 0) | starts)

    def arrivals(self, chosen: Flags) -> Floats:
        """How much time by span and pitch class follows the chosen steps, for each step: shape (spans, 12)."""
        sums = by_class(self.which, self.classes, self.time * self.near * chosen, len(self.firsts))
        steps = np.add.reduceat(self.near, self.firsts) - self.near[self.firsts]
        return np.asarray(sums / np.maximum(1.0, steps)[:, None])


def evidence(columns: Columns, spans: tuple[Span, ...]) -> Floats:
    """The cues of each of the spans that the line is cut into: shape (spans, cues, 12).

    Pitch classes are counted from the whole line's last tone. Time is linear in the tones.
    """
    parts = _parts_of(columns, spans)
    plain = _plain(parts, columns)
    both = pairs(plain[:, PLAIN.index("heard")], parts.classes[parts.lasts])
    return np.concatenate([plain, _marked(parts, columns), _shared(parts, columns), _reached(parts), both], axis=1)


def plain_evidence(columns: Columns, spans: tuple[Span, ...]) -> Floats:
    """The same of the cues in `PLAIN` alone."""
    return _plain(_parts_of(columns, spans), columns)


def _parts_of(columns: Columns, spans: tuple[Span, ...]) -> _Parts:
    firsts, lasts = np.array([(span.first, span.last) for span in spans]).T
    which = np.repeat(np.arange(len(spans)), lasts - firsts + 1)
    index = np.arange(columns.size)
    inside = np.minimum(index - firsts[which], lasts[which] - index)
    near = 1.0 / (1.0 + np.maximum(0, inside - NEAR) / FADING)
    step = np.append(0, np.diff(columns.midi))
    step[firsts] = 0
    classes = (columns.midi - columns.midi[-1]) % 12
    return _Parts(firsts, lasts, which, classes, np.sqrt(relative_time(columns.ioi)), near, step)


def _plain(parts: _Parts, columns: Columns) -> Floats:
    firsts, lasts, classes, step = parts.firsts, parts.lasts, parts.classes, parts.step
    rows, every = np.zeros((len(firsts), len(PLAIN), 12)), np.arange(len(firsts))
    sizes = lasts - firsts + 1
    weight = sizes / (sizes + _SCALE_OF_LENGTH)
    share = parts.shares(parts.time * parts.near, 0.0)
    rows[:, 0] = share * weight[:, None]
    rows[:, 1] = share / (share + _PRESENT)
    rows[every, 2, classes[lasts]] = weight
    moving, opened = _openings(parts)
    last_move = np.maximum.reduceat(np.where(step != 0, np.arange(columns.size), -1), firsts)
    rows[moving, 3, classes[last_move[moving] - 1]] = 1.0
    rows[every, 4, classes[firsts]] = 1.0
    rows[moving, 5, classes[opened]] = 1.0
    lowest = np.minimum.reduceat(columns.midi, firsts) - columns.midi[-1]
    rows[every, 6, lowest % 12] = 1.0
    for row, way in enumerate((_rising(step, 5), _rising(step, -2), _rising(step, 1)), start=7):
        rows[:, row] = parts.arrivals(way)
    return rows


def _marked(parts: _Parts, columns: Columns) -> Floats:
    """The rows from `there` to `first_long`: most are 1 at one pitch class."""
    firsts, lasts, classes, which = parts.firsts, parts.lasts, parts.classes, parts.which
    rows, every = np.zeros((len(firsts), 11, 12)), np.arange(len(firsts))
    counts = by_class(which, classes, np.ones(len(classes)), len(firsts))
    rows[:, 0], rows[:, 1] = counts >= 1, counts >= 2
    sounded = parts.sounded
    third = np.searchsorted(sounded, lasts, side="right") - 3
    enough = third >= np.searchsorted(sounded, firsts)
    rows[enough, 2, classes[sounded[third[enough]]]] = 1.0
    ends, final = classes[lasts], columns.midi[lasts]
    lowest, highest = _extremes(parts, columns.midi)
    rows[every, 3, ends] = 1.0
    rows[every, 4, ends] = 2.0 * np.log2(parts.time[lasts])
    rows[every, 5, ends] = final == lowest
    rows[every, 6, ends] = final == highest
    below = np.where(columns.midi < highest[which], columns.midi, lowest[which])
    above = np.where(columns.midi > lowest[which], columns.midi, highest[which])
    for row, place in enumerate((highest, _extremes(parts, below)[1], _extremes(parts, above)[0]), start=7):
        rows[every, row, (place - columns.midi[-1]) % 12] = 1.0
    longer = np.where(_longer(parts, columns), np.arange(columns.size), columns.size)
    first_long = np.minimum.reduceat(longer, firsts)
    there = first_long < columns.size
    rows[every[there], 10, classes[first_long[there]]] = 1.0
    return rows


def _shared(parts: _Parts, columns: Columns) -> Floats:
    """The rows from `low_time` to `triad`: shares of the line."""
    firsts, lasts, step, which = parts.firsts, parts.lasts, parts.step, parts.which
    time, index = parts.time * parts.near, np.arange(columns.size)
    lowest, highest = _extremes(parts, columns.midi)
    low = columns.midi < ((lowest + highest) / 2)[which]
    size = (lasts - firsts + 1)[which]
    leaps = np.abs(step) >= 3
    peaks, valleys = _turning(parts)
    again = step == 0
    again[firsts] = False
    weights = (
        *((time * low, 1.0), (time * ~low, 1.0)),
        *((time * (lasts[which] + 1 - index) / size, 0.0), (time * (index + 1 - firsts[which]) / size, 0.0)),
        *((time * parts.time**2, 0.0), (time * (leaps | np.append(leaps[1:], False)), 1.0)),
        *((parts.near * peaks, 1.0), (parts.near * valleys, 1.0)),
        *((time * _longer(parts, columns), 1.0), (parts.near * again, 2.0)),
    )
    return np.stack([*(parts.shares(weight, spare) for weight, spare in weights), _triads(parts)], axis=1)


def _reached(parts: _Parts) -> Floats:
    """The rows from the first `by_K` to `ending_repeated`: tones reached in one way or another."""
    firsts, lasts, step, classes = parts.firsts, parts.lasts, parts.step, parts.classes
    arrived = np.stack([parts.arrivals(_rising(step, size)) for size in _STEPS], axis=1)
    moving, opened = _openings(parts)
    closed = np.maximum.reduceat(np.where(step != 0, np.arange(len(step)), -1), firsts)[moving]
    ways = []
    for reached in (opened, closed):
        size, rows = step[reached] % 12, np.zeros((len(firsts), len(_ANY_STEP), 12))
        known = size > 0
        rows[moving[known], size[known] - 1, classes[reached[known]]] = 1.0
        ways.append(rows)
    again = np.zeros((len(firsts), 1, 12))
    again[np.arange(len(firsts)), 0, classes[lasts]] = (step[lasts] == 0) & (lasts > firsts)
    return np.concatenate([arrived, *ways, again], axis=1)


def _rising(step: Ints, size: int) -> Flags:
    """The steps of so many semitones upwards, or as many downwards as make the same tone in another octave."""
    return np.asarray((step - size) % 12 == 0)


def _extremes(parts: _Parts, keys: Ints) -> tuple[Ints, Ints]:
    """The lowest and the highest of the keys in each span."""
    return np.minimum.reduceat(keys, parts.firsts), np.maximum.reduceat(keys, parts.firsts)


def _longer(parts: _Parts, columns: Columns) -> Flags:
    """The tones that are longer than the one before in their span."""
    longer = np.append(False, columns.ioi[1:] > 1.2 * columns.ioi[:-1])
    longer[parts.firsts] = False
    return longer


def _openings(parts: _Parts) -> tuple[Ints, Ints]:
    """The spans that are not one tone repeated, and the second tone of each."""
    index = np.arange(len(parts.step))
    first_move = np.minimum.reduceat(np.where(parts.step != 0, index, len(index)), parts.firsts)
    moving = np.flatnonzero(first_move < len(index))
    return moving, first_move[moving]


def _turning(parts: _Parts) -> tuple[Flags, Flags]:
    """The tones higher than both tones around them, and those lower than both; repeats are taken as one."""
    moved = np.flatnonzero(parts.step)
    here, there = moved[:-1], moved[1:]
    together, rises, rises_on = parts.which[here] == parts.which[there], parts.step[here] > 0, parts.step[there] > 0
    peaks, valleys = np.zeros((2, len(parts.step)), dtype=bool)
    peaks[here[together & rises & ~rises_on]] = True
    valleys[here[together & ~rises & rises_on]] = True
    return peaks, valleys


def _triads(parts: _Parts) -> Floats:
    """For each span the roots of major triads over the number of all triads and two: shape (spans, 12)."""
    sounded = parts.sounded
    first, second, third = sounded[:-2], sounded[1:-1], sounded[2:]
    together = parts.which[first] == parts.which[third]
    one, other = ((parts.classes[tone] - parts.classes[first])[together] % 12 for tone in (second, third))
    low, high = np.minimum(one, other), np.maximum(one, other)
    which, classes, count = parts.which[first][together], parts.classes[first][together], len(parts.firsts)
    roots, made = np.zeros((count, 12)), np.zeros(count)
    for shapes, counted in ((_MAJOR, 1.0), (_MINOR, 0.0)):
        for (lower, upper), root in shapes.items():
            here = ((low == lower) & (high == upper)).astype(np.float64)
            made += np.bincount(which, weights=here, minlength=count)
            roots += counted * by_class(which, (classes + root) % 12, here, count)
    return np.asarray(roots / (made + 2.0)[:, None])


def by_class(which: Ints, classes: Ints, weights: Floats, count: int) -> Floats:
    """Sums of weights by span and pitch class: shape (count, 12)."""
    sums = np.bincount(which * 12 + classes, weights=weights, minlength=12 * count)
    return np.asarray(sums, dtype=np.float64).reshape(count, 12)


def key_scores(shown: Floats, profiles: Floats) -> Floats:
    """Cues (spans, cues, 12) times profiles (2, cues, 12) with every pitch class as tonic: shape (spans, 2, 12)."""
    above = (np.arange(12)[None, :] - np.arange(12)[:, None]) % 12
    turned = profiles[:, :, above].transpose(1, 3, 0, 2)
    scores = shown.reshape(len(shown), -1) @ turned.reshape(-1, 24)
    return np.asarray(scores, dtype=np.float64).reshape(-1, 2, 12)


def relative_time(ioi: Floats) -> Floats:
    """Time to the next onset against the line's median, between a tenth of it and four times as much."""
    positive = ioi[ioi > 0]
    middle = float(np.median(positive)) if positive.size else 1.0
    return np.clip(ioi / middle, 0.1, 4.0)
