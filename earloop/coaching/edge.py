"""How hard the next question is to be: near the edge of what is known, for each kind by itself.

The rule is the weighted up-down method (Kaernbach 1991, Perception & Psychophysics 49): every right answer moves the
level up by a step, every wrong one down by three, so that it settles where three of four answers are right. An answer
counts only where it tells something: a right one to a question not far below the level, a wrong one to a question not
far above it. The sizes of steps are by judgement, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random

from earloop.coaching.question import QUESTION_KINDS, QuestionKind, Spot
from earloop.journal import Happening

START = 0.2
STEP_UP, STEP_DOWN = 0.06, 0.18
"""One to three: p·up = (1 - p)·down at p = 3/4."""
FAR = 0.2
LAST = 8
"""So many latest answers say how shaky a kind is."""
AROUND = 3
"""Chance picks one of so many spots nearest to the level, so that a spell is not the same each time."""


@dataclass(frozen=True, slots=True)
class Result:
    """One answer of the past."""

    kind: QuestionKind
    difficulty: float
    right: bool


def results_of(happenings: Iterable[Happening]) -> list[Result]:
    """The answers among what happened, oldest first; questions of unknown kinds are left out."""
    out = []
    for happening in happenings:
        kind = next((kind for kind in QUESTION_KINDS if kind == happening.what), None)
        if happening.kind == "answered" and kind is not None and happening.result is not None:
            difficulty = happening.detail.get("difficulty", START)
            sound = isinstance(difficulty, int | float) and 0 <= difficulty <= 1
            out.append(Result(kind, float(difficulty) if sound else START, happening.result >= 0.5))
    return out


def level_of(results: Iterable[Result], kind: QuestionKind) -> float:
    """The level of a kind after these answers, 0 to 1."""
    level = START
    for result in results:
        if result.kind != kind:
            continue
        if result.right and result.difficulty >= level - FAR:
            level = min(1.0, level + STEP_UP)
        elif not result.right and result.difficulty <= level + FAR:
            level = max(0.0, level - STEP_DOWN)
    return level


def shakiness(results: Sequence[Result], kind: QuestionKind) -> float:
    """How much a kind wants asking: 1 where nothing is known of it, less the more of the latest answers were right."""
    latest = [result.right for result in results if result.kind == kind][-LAST:]
    # Two questions that were neither asked nor answered keep a single answer from deciding.
    return 1 - sum(latest) / (len(latest) + 2)


def choose(spots: Sequence[Spot], results: Sequence[Result], before: QuestionKind | None, rng: Random) -> Spot | None:
    """The next spot: first a kind, the shakier the likelier and never the same twice running, then one at its level."""
    kinds = sorted({spot.kind for spot in spots}, key=QUESTION_KINDS.index)
    kinds = [kind for kind in kinds if kind != before] or kinds
    if not kinds:
        return None
    kind = rng.choices(kinds, [shakiness(results, kind) for kind in kinds])[0]
    level = level_of(results, kind)
    mine = [spot for spot in spots if spot.kind == kind]
    rng.shuffle(mine)
    mine.sort(key=lambda spot: abs(spot.difficulty - level))
    return rng.choice(mine[:AROUND])
