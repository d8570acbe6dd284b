"""A spell of questions on one reading: what is asked next, what was answered, and what to go back to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random

from earloop.coaching.edge import Result, choose
from earloop.coaching.question import Naming, Question, QuestionKind, Spot, by_number
from earloop.coaching.questions import spots_of, title_of
from earloop.reading.record import Reading

COUNT = 8
"""Questions in a spell: some minutes, as short spells are better for the ear (common practice, no source)."""

MOST_PHRASES = 24
"""As many phrases as a spell draws its questions from: more than it has questions, and quickly looked through."""


class Spell:
    """Questions on the phrases named (0-based), `count` of them at most. The same seed asks the same."""

    def __init__(
        self,
        reading: Reading,
        phrases: Sequence[int],
        rng: Random,
        *,
        past: Iterable[Result] = (),
        kinds: tuple[QuestionKind, ...] | None = None,
        count: int = COUNT,
        naming: Naming = by_number,
    ) -> None:
        self.count = count
        self.asked = 0
        self.answered: list[tuple[Question, bool]] = []
        self._rng, self._naming = rng, naming
        self._results = list(past)
        self._spots = _spots(reading, phrases, kinds, rng)
        self._used: set[tuple[QuestionKind, tuple[int, ...]]] = set()
        self._before: QuestionKind | None = None

    @property
    def spots(self) -> tuple[Spot, ...]:
        """Every place that a question can be asked about."""
        return tuple(self._spots)

    def next(self) -> Question | None:
        """The next question; None at the end of the spell, or where the reading supports none."""
        if self.asked >= self.count:
            return None
        fresh = [spot for spot in self._spots if (spot.kind, spot.about) not in self._used]
        spot = choose(fresh or self._spots, self._results, self._before, self._rng)
        if spot is None:
            return None
        self.asked += 1
        self._used.add((spot.kind, spot.about))
        self._before = spot.kind
        return spot.make(self._rng, self._naming)

    def note(self, question: Question, right: bool) -> None:
        """How it was answered; the next question is chosen by it."""
        self.answered.append((question, right))
        self._results.append(Result(question.kind, question.difficulty, right))

    def summary(self) -> str:
        """Two sentences: what was sure, and what to go back to."""
        if not self.answered:
            return "Nothing was answered. Come back to it when you like."
        wrong = _kinds(question.kind for question, right in self.answered if not right)
        sure = [kind for kind in _kinds(question.kind for question, _ in self.answered) if kind not in wrong]
        first = f"Sure: {_listed(sure)}." if sure else "Nothing was quite sure this time."
        if not wrong:
            return f"{first} There is nothing here to go back to."
        return f"{first} Go back to {_listed(wrong)} ({self._places()})."

    def _places(self) -> str:
        """Where the wrong answers were, in phrases and tones counted from 1."""
        missed = sorted({question.phrase for question, right in self.answered if not right})
        numbers = [str(phrase + 1) for phrase in missed]
        return f"phrase{'s' if len(numbers) > 1 else ''} {_joined(numbers)}"


def _spots(reading: Reading, phrases: Sequence[int], kinds: tuple[QuestionKind, ...] | None, rng: Random) -> list[Spot]:
    """The spots of the phrases; of a long piece those of some phrases by chance, in their order."""
    mixed = list(phrases) if len(phrases) <= MOST_PHRASES else rng.sample(list(phrases), len(phrases))
    found: dict[int, tuple[Spot, ...]] = {}
    for phrase in mixed:
        spots = spots_of(reading, phrase, kinds)
        if spots:
            found[phrase] = spots
        if len(found) == MOST_PHRASES:
            break
    return [spot for phrase in sorted(found) for spot in found[phrase]]


def _kinds(kinds: Iterable[QuestionKind]) -> list[QuestionKind]:
    return list(dict.fromkeys(kinds))


def _listed(kinds: Sequence[QuestionKind]) -> str:
    return _joined([title_of(kind) for kind in kinds])


def _joined(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
