"""Where the line breathes: the score's own signs first, then what length, rest, fall and parallels make likely."""

from __future__ import annotations

import numpy as np

from earloop.line import Line, Span
from earloop.line.line import Flags, Floats, Ints
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.phrase_chances import end_chances
from earloop.reading.phrase_lengths import breath_of, breath_shares
from earloop.reading.phrase_reasons import why_phrase_end
from earloop.reading.phrase_signs import SIGN_SURE, guess_allowed, signs_of, slur_scores
from earloop.reading.phrase_sure import believed, said_of, threshold
from earloop.reading.record import Tonic

__all__ = ["find_phrases", "why_phrase_end"]

_FORCED = 12.0
AT_FIRST = 0.36
"""From which chance on a phrase seems to end before it is known how far the chances are to be believed."""
_LONGEST = 2.6
"""A phrase that would take more breaths than this is divided, at the likeliest places."""


def find_phrases(
    line: Line, home: Tonic, decided: Decisions = NONE_DECIDED
) -> tuple[tuple[Span, ...], tuple[float, ...]]:
    """Phrases in order, covering the line, and how sure each phrase's end is (the last is 1.0)."""
    size = len(line)
    breath = breath_of(line)
    signs = signs_of(line)
    wanted, barred = _decided(size, decided)
    fixed = (signs & ~barred) | wanted
    allowed = guess_allowed(line, signs, breath) & ~barred & ~line.columns.grace & ~fixed
    shares, chance, least = breath_shares(line), np.zeros(size), AT_FIRST
    if allowed[:-1].any():
        bias = slur_scores(line) + _FORCED * fixed - _FORCED * ~(allowed | fixed)
        chances = end_chances(line.columns, home.key.pc, breath, bias)
        at_first = chosen(chances.second, fixed, allowed, shares, least)
        chance = believed(line.columns, chances, allowed, at_first)
        least = threshold(np.where(allowed, chance, 0.0)[:-1])
    ends = chosen(chance, fixed, allowed, shares, least)
    sure = np.where(wanted, 1.0, np.where(fixed, SIGN_SURE, said_of(line, chance)))
    lasts = [*ends.tolist(), size - 1]
    firsts = [0, *(i + 1 for i in ends.tolist())]
    spans = tuple(Span(a, b) for a, b in zip(firsts, lasts, strict=True))
    return spans, (*(float(min(1.0, max(0.0, sure[i]))) for i in ends), 1.0)


def _decided(size: int, decided: Decisions) -> tuple[Flags, Flags]:
    """Where a person wants a phrase end and where they want none; indexes beyond the line are ignored."""
    wanted, barred = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    for index, on in decided.phrase_ends.items():
        if 0 <= index < size - 1:
            (wanted if on else barred)[index] = True
    return wanted, barred


def chosen(chance: Floats, fixed: Flags, allowed: Flags, shares: Floats, least: float) -> Ints:
    """The phrase ends: all fixed ones, and guesses likelier than `least` that leave no phrase of a single tone."""
    size = len(chance)
    likely = allowed & (chance > least)
    known = np.where(fixed | likely, chance, 0.0)
    left, right = np.concatenate([[0.0], known[:-1]]), np.concatenate([known[1:], [0.0]])
    crowded = np.concatenate([[True], fixed[:-1]]) | np.concatenate([fixed[1:], [True]])
    likely &= (chance > left) & (chance >= right) & ~crowded
    marked = fixed | likely
    marked[-1] = False
    borders = np.concatenate([[-1], np.flatnonzero(marked), [size - 1]])
    load = np.concatenate([[0.0], np.cumsum(shares)])
    far = np.flatnonzero(np.diff(load[borders + 1]) > _LONGEST).tolist()
    for k in far:
        marked[_split(int(borders[k]), int(borders[k + 1]), load, chance, allowed)] = True
    return np.flatnonzero(marked)


def _split(before: int, last: int, load: Floats, chance: Floats, allowed: Flags) -> list[int]:
    """Ends inside a stretch (after tone `before`, up to `last`) that has too little to go by: about a breath each.

    `load[i]` is how many breaths the tones before tone i take. Each end is the likeliest near its even share.
    """
    added: list[int] = []
    parts = max(2, round(float(load[last + 1] - load[before + 1]) / 1.3))
    for left in range(parts, 1, -1):
        part = float(load[last + 1] - load[before + 1]) / left
        target = float(load[before + 1]) + part
        low, high = np.searchsorted(load, [target - 0.45 * part, target + 0.45 * part])
        places = np.arange(max(low - 1, before + 2), min(high, last - 1))
        places = places[allowed[places]]
        if len(places):
            away = np.abs(load[places + 1] - target) / part
            before = int(places[np.argmax(chance[places] * (1.0 - away))])
            added.append(before)
        else:
            before = max(before, min(last - 1, int(np.searchsorted(load, target)) - 1))
    return added
