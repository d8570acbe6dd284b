"""What the page itself says about breaths: signs that outrank every guess, and slurs that bind.

Breath marks, commas, caesuras, dotted and double bars, and fermatas end a phrase; a slur is not cut (common
practice, no source). A breath is taken where it is marked, even after a single tone; a fermata says only that a tone is
held, and held tones in a row belong together: it ends no phrase of one tone.
"""

from __future__ import annotations

import numpy as np

from earloop.line import Line
from earloop.line.line import Flags, Floats
from earloop.reading.phrase_lengths import Breath

WORDS = {
    "breath": "a breath mark",
    "comma": "a comma",
    "caesura": "a caesura",
    "dotted-bar": "a dotted bar line",
    "double-bar": "a double bar",
}
INSIDE_SLUR, SLUR_ENDS = -2.0, 0.5
"""Scores in nats; set by hand, since the folk songs have no slurs."""
_CONSISTENT = 3
_SECTION = 4.0
"""Breaths: signs that stand further apart than that mark sections (common practice, no source)."""
SIGN_SURE = 0.97
"""How sure a printed sign makes a phrase end: set by hand; a fermata now and then is held inside a phrase."""


def signs_of(line: Line) -> Flags:
    """Whether the page marks the end of a phrase after each tone (never on the last: the line ends there anyway)."""
    breaths = np.array([bool(tone.marks.break_after) for tone in line.tones])
    fermatas = np.array([tone.marks.fermata for tone in line.tones])
    marked: Flags = breaths | _closing(fermatas, breaths, line.columns.grace)
    marked[-1] = False
    return marked


def _closing(fermatas: Flags, breaths: Flags, grace: Flags) -> Flags:
    """The fermatas that end a phrase: with two tones or more behind them and ahead; graces don't count.

    Of fermatas side by side the last one ends the phrase.
    """
    ends = np.zeros_like(fermatas)
    tones = np.flatnonzero(~grace)
    held, parted = fermatas[tones], breaths[tones]
    alone_behind = np.concatenate([[True], parted[:-1]])
    alone_ahead = np.concatenate([(held | parted)[1:], [True]])
    alone_ahead[-2:] = True
    ends[tones] = held & ~(alone_behind | alone_ahead)
    return ends


def guess_allowed(line: Line, signs: Flags, breath: Breath) -> Flags:
    """Where guesses may add to the signs: everywhere without signs, else only in spans far too long for one breath.

    Three breathing signs and more show how long the page's own phrases are; fewer, or signs that part sections as
    double bars do, leave that to the usual breath.
    """
    size = len(line)
    ends = np.flatnonzero(signs)
    if not len(ends):
        return np.ones(size, dtype=bool)
    borders = np.concatenate([[-1], ends, [size - 1]])
    columns = line.columns
    times = (columns.onset + columns.ioi)[borders[1:]] - columns.onset[borders[:-1] + 1]
    tones = np.diff(borders)
    breathing = sum(line.tones[i].marks.break_after != "double-bar" for i in ends.tolist())
    typical = float(np.median(times[:-1]))
    consistent = breathing >= _CONSISTENT and typical <= _SECTION * breath.time
    usual = 2.5 * typical if consistent else 0.0
    most = 2.0 if consistent else 1.4
    far = (times > max(usual, most * breath.time)) & (tones > most * breath.tones)
    allowed: Flags = np.repeat(far, tones)
    return allowed


def slur_scores(line: Line) -> Floats:
    """A score in nats a tone: against a breath inside a slur, a little for one where a slur has just ended."""
    starts = np.array([t.marks.slur_starts for t in line.tones])
    stops = np.array([t.marks.slur_stops for t in line.tones])
    if not starts.any():
        return np.zeros(len(line))
    inside = np.cumsum(starts - stops) > 0
    # A slur left open by a damaged page must not bind the rest of it.
    inside &= np.cumsum(stops[::-1])[::-1] > stops
    return np.where(inside, INSIDE_SLUR, np.where(stops > 0, SLUR_ENDS, 0.0))


def sign_words(line: Line, index: int) -> str:
    """What is printed after the tone, in words; empty where nothing is."""
    marks = line.tones[index].marks
    if marks.break_after:
        return WORDS.get(marks.break_after, "a breath sign")
    return "a fermata" if marks.fermata else ""
