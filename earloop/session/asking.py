"""One spell of questions on the score of a session: it sounds them, takes answers, notes them in the diary.

No keys and no screen: the screen and the command line both sit on this.
"""

from __future__ import annotations

import time
from bisect import bisect_right
from collections.abc import Sequence
from random import Random
from typing import Literal

from earloop.coaching.answering import Outcome, by_choice, by_tones, given_up
from earloop.coaching.by_tones import may_go_on, meant
from earloop.coaching.edge import Result, results_of
from earloop.coaching.question import Naming, Part, Question, QuestionKind, Tune
from earloop.coaching.sounds import QUESTION_STRANDS, one_after_another
from earloop.coaching.spell import COUNT, Spell
from earloop.journal import Journal, JournalError
from earloop.journal.place import journal_path
from earloop.line import Pitch
from earloop.reading.record import Degree, Mode
from earloop.session.aside import Aside
from earloop.session.choices import DegreeNames
from earloop.session.naming import degree_name
from earloop.session.session import Session

Way = Literal["key", "keyboard", "voice"]
"""How an answer was given: by a key of the computer, on a MIDI keyboard, sung."""
VERBS: dict[Way, str] = {"key": "said", "keyboard": "played", "voice": "sang"}


class Asking:
    """Make one a spell; `leave` it in the end. `question` is the present one, `outcome` how it was answered."""

    def __init__(
        self,
        session: Session,
        phrases: Sequence[int],
        *,
        past: Sequence[Result] = (),
        kinds: tuple[QuestionKind, ...] | None = None,
        count: int = COUNT,
        seed: int | None = None,
    ) -> None:
        self.session = session
        self.spell = Spell(
            session.reading,
            phrases,
            Random(seed),
            past=past,
            kinds=kinds,
            count=count,
            naming=naming_of(session.choices.degree_names),
        )
        self.sounds_above = 0.0
        """Semitones by which the player sounds above the written pitch at A4 = 440 Hz."""
        self.question: Question | None = None
        self.outcome: Outcome | None = None
        self.remark = ""
        """What was sung or played last, where it was none of the answers: nothing is judged by it."""
        self.aside = Aside(session)
        self.parts: tuple[Part, ...] = ()
        self._starts: tuple[float, ...] = ()
        self._asked_at = 0.0
        self._before: Tune = ()

    def next(self, sounding: bool = True) -> Question | None:
        """Go on to the next question and sound it, unless that is to wait for `again`; None at the spell's end."""
        self.question, self.outcome = self.spell.next(), None
        self.remark, self._before = "", ()
        if self.question is None:
            self.aside.stop()
            return None
        self._asked_at = time.monotonic()
        if sounding:
            self.again()
        return self.question

    def again(self) -> None:
        """Sound the question once more; after a wrong answer the two answers."""
        if self.outcome is not None and self.outcome.sounds:
            self._sound(self.outcome.sounds)
        elif self.question is not None:
            self._sound(self.question.sound)

    def choose(self, key: str) -> Outcome | None:
        """The answer with that key, or at that place where none is called by a number; None where there is no such."""
        if self.question is None or self.outcome is not None:
            return None
        keys = [answer.key for answer in self.question.answers]
        if key not in keys and not any(known.isdecimal() for known in keys):
            keys = [str(place + 1) for place in range(len(keys))]
        return self._take(by_choice(self.question, keys.index(key))) if key in keys else None

    def tones(self, midis: Sequence[float], by: Way = "keyboard") -> Outcome | None:
        """Tones played or sung, as (fractional) MIDI keys; None where they mean no answer, which `remark` then says.

        A player tuned or moved by the performer sounds above the written pitch, and so do the answers to it.
        """
        question = self.question
        if question is None or self.outcome is not None or question.by_tones is None or not midis:
            return None
        heard = meant(question.by_tones, self._written(midis, by), self._before)
        self._before, self.remark = heard.tune, heard.sentence
        outcome = by_tones(question, heard, VERBS[by])
        return None if outcome is None else self._take(outcome, by)

    def may_go_on(self, midis: Sequence[float]) -> bool:
        """Whether more tones of the keyboard may still belong to the answer that these begin."""
        question = self.question
        if question is None or self.outcome is not None or question.by_tones is None:
            return False
        return may_go_on(question.by_tones, self._written(midis, "keyboard"))

    @property
    def sung(self) -> tuple[str, int] | None:
        """What is to be sung, and how many tones of it at most; None where the question takes keys only."""
        by = self.question.by_tones if self.question is not None and self.outcome is None else None
        return None if by is None else (by.what, by.most)

    def give_up(self) -> Outcome | None:
        """No answer: it counts as not known, and the right one is heard."""
        if self.question is None or self.outcome is not None:
            return None
        return self._take(given_up(self.question))

    def stop(self) -> None:
        """Silence; the question stays."""
        self.aside.stop()

    @property
    def sounding(self) -> int | None:
        """Which of `parts` is heard now; None in silence."""
        place = self.aside.place
        if place is None or not self.parts:
            return None
        return max(0, bisect_right(self._starts, place + 1e-6) - 1)

    @property
    def given(self) -> int | None:
        """The place of the answer that was given; None where it was none of them, or there is none yet."""
        if self.question is None or self.outcome is None:
            return None
        return self.outcome.place

    def leave(self) -> None:
        """The loop as it was before, silent at its place. May be called twice."""
        self.aside.leave()

    def _written(self, midis: Sequence[float], by: Way) -> list[int]:
        above = self.sounds_above if by == "voice" else round(self.sounds_above)
        return [round(midi - above) for midi in midis]

    def _take(self, outcome: Outcome, by: Way = "key") -> Outcome:
        assert self.question is not None
        self.outcome, self.remark = outcome, ""
        self.spell.note(self.question, outcome.right)
        self._note(self.question, outcome, by)
        self.aside.stop()
        if outcome.sounds:
            self._sound(outcome.sounds)
        return outcome

    def _sound(self, parts: tuple[Part, ...]) -> None:
        performance, self._starts = one_after_another(parts)
        self.parts = parts
        self.aside.sound(performance, QUESTION_STRANDS)

    def _note(self, question: Question, outcome: Outcome, by: Way) -> None:
        share = [int(outcome.right), 1]
        detail: dict[str, object] = {
            "asked": question.right_answer.words,
            "given": outcome.given,
            "difficulty": question.difficulty,
            "tones": list(question.about),
            "by": by,
        }
        if question.degree:
            detail["degrees"] = {question.degree: share}
        if question.item.startswith("link:"):
            detail["links"] = {question.item.removeprefix("link:"): share}
        self.session.practising.note(
            "answered",
            question.kind,
            question.item,
            phrase=question.phrase,
            result=float(outcome.right),
            seconds=round(time.monotonic() - self._asked_at, 1),
            detail=detail,
        )


def naming_of(names: DegreeNames) -> Naming:
    """How degrees are called, as the performer chose."""

    def name(degree: Degree, pitch: Pitch, mode: Mode) -> str:
        return degree_name(degree, pitch, mode, names)

    return name


def past_of(score: str) -> list[Result]:
    """What was answered on this score before; nothing where there is no journal, or it can't be read."""
    if not journal_path().exists():
        return []
    try:
        with Journal.open() as journal:
            return results_of(journal.happenings(score=score))
    except JournalError:
        return []
