"""Where the line breathes: the score's own signs first, then what length, rest, fall and parallels make likely."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from earloop.line import Line, Span
from earloop.line.line import Flags, Floats
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.phrase_chances import end_chances
from earloop.reading.phrase_coefficients import THRESHOLD
from earloop.reading.phrase_lengths import Breath, breath_of
from earloop.reading.phrase_reasons import why_phrase_end
from earloop.reading.phrase_signs import SIGN_SURE, guess_allowed, signs_of, slur_scores
from earloop.reading.record import Tonic

__all__ = ["find_phrases", "why_phrase_end"]

_FORCED = 12.0
_LONGEST = 2.6
"""A phrase of more than this many expected phrases' tones is cut once more, at its likeliest place."""


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
    if allowed[:-1].any():
        bias = slur_scores(line) + _FORCED * fixed - _FORCED * ~(allowed | fixed)
        chance = end_chances(line.columns, home.key.pc, breath, bias)
    else:
        chance = np.zeros(size)
    ends = _chosen(chance, fixed, allowed, breath)
    sure = np.where(wanted, 1.0, np.where(fixed, np.maximum(chance, SIGN_SURE), chance))
    lasts = [*ends, size - 1]
    firsts = [0, *(i + 1 for i in ends)]
    spans = tuple(Span(a, b) for a, b in zip(firsts, lasts, strict=True))
    return spans, (*(float(min(1.0, max(0.0, sure[i]))) for i in ends), 1.0)


def _decided(size: int, decided: Decisions) -> tuple[Flags, Flags]:
    """Where a person wants a phrase end and where they want none; indexes beyond the line are ignored."""
    wanted, barred = np.zeros(size, dtype=bool), np.zeros(size, dtype=bool)
    for index, on in decided.phrase_ends.items():
        if 0 <= index < size - 1:
            (wanted if on else barred)[index] = True
    return wanted, barred


def _chosen(chance: Floats, fixed: Flags, allowed: Flags, breath: Breath) -> list[int]:
    """The phrase ends: all fixed ones, and guesses above the threshold that leave no phrase of a single tone."""
    size = len(chance)
    likely = allowed & (chance > THRESHOLD)
    left = np.concatenate([[0.0], np.where(fixed | likely, chance, 0.0)[:-1]])
    right = np.concatenate([np.where(fixed | likely, chance, 0.0)[1:], [0.0]])
    crowded = np.concatenate([[True], fixed[:-1]]) | np.concatenate([fixed[1:], [True]])
    likely &= (chance > left) & (chance >= right) & ~crowded
    marked = fixed | likely
    marked[-1] = False
    ends = np.flatnonzero(marked).tolist()
    longest = max(6, int(_LONGEST * breath.tones))
    borders = [-1, *ends, size - 1]
    added: list[int] = []
    for before, last in pairwise(borders):
        added += _split(before, last, longest, chance, allowed)
    return sorted([*ends, *added])


def _split(before: int, last: int, longest: int, chance: Floats, allowed: Flags) -> list[int]:
    """Ends to add so that no phrase from tone `before` + 1 to `last` is far too long."""
    added = []
    while last - before > longest:
        low, high = before + longest // 4, min(last - longest // 4, before + longest)
        places = np.arange(low, high)
        places = places[allowed[low:high]]
        if not len(places):
            before += longest // 2
            continue
        before = int(places[np.argmax(chance[places])])
        added.append(before)
    return added
