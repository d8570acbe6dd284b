"""The kinds of question, each with what it trains, and the places of a phrase that support them.

A kind is a function from a reading and a phrase to the spots that support a question of it: none where the reading
has nothing of the sort. The order is that in which they are best met first (by judgement, no source).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from earloop.coaching.question import QuestionKind, Spot
from earloop.coaching.questions_decoration import lean_way, sing_held
from earloop.coaching.questions_degrees import where_home, which_degree
from earloop.coaching.questions_lines import next_lower, which_line
from earloop.coaching.questions_pages import which_page
from earloop.coaching.questions_skeleton import changed_tone
from earloop.reading.record import Reading


@dataclass(frozen=True, slots=True)
class QuestionEntry:
    """A kind of question: `title` names it in a sentence, as what one is sure of or goes back to."""

    kind: QuestionKind
    spots: Callable[[Reading, int], Iterator[Spot]]
    title: str


QUESTIONS: tuple[QuestionEntry, ...] = (
    QuestionEntry("where_home", where_home, "where home is"),
    QuestionEntry("which_degree", which_degree, "which degree a tone is"),
    QuestionEntry("which_line", which_line, "which line sounds"),
    QuestionEntry("lean_way", lean_way, "which way a lean releases"),
    QuestionEntry("changed_tone", changed_tone, "the tones of the skeleton"),
    QuestionEntry("sing_held", sing_held, "the tone held under an ornament"),
    QuestionEntry("next_lower", next_lower, "where the lower line goes on"),
    QuestionEntry("which_page", which_page, "which page a skeleton belongs to"),
)


def spots_of(reading: Reading, phrase: int, kinds: tuple[QuestionKind, ...] | None = None) -> tuple[Spot, ...]:
    """Every spot of the phrase (0-based), kind by kind; all kinds where none are named."""
    chosen = [entry for entry in QUESTIONS if kinds is None or entry.kind in kinds]
    return tuple(spot for entry in chosen for spot in entry.spots(reading, phrase))


def title_of(kind: QuestionKind) -> str:
    """What the kind is called in a sentence."""
    return next(entry.title for entry in QUESTIONS if entry.kind == kind)
