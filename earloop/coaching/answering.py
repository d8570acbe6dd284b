"""What an answer is worth: right or not, one sentence on the difference, and what is then heard."""

from __future__ import annotations

from dataclasses import dataclass

from earloop.coaching.by_tones import Meant
from earloop.coaching.question import Answer, Part, Question
from earloop.coaching.scale import apart

CALM = "Yes."


@dataclass(frozen=True, slots=True)
class Outcome:
    """`given` is what was said, in words; `sounds` is mine and then theirs, empty after a right answer.

    `place` is that of the answer given among the question's answers, None where none was given.
    """

    right: bool
    given: str
    sentence: str
    sounds: tuple[Part, ...] = ()
    place: int | None = None


def by_choice(question: Question, place: int, said: str = "") -> Outcome:
    """The answer at that place of the question's answers; `said` how it was given, where not in its own words."""
    mine = question.answers[place]
    if place == question.right:
        return Outcome(True, mine.words, CALM, place=place)
    really = f", which is {mine.really}" if mine.really else ""
    sentence = _difference(question, mine, said or f"You said {mine.words}{really}")
    return Outcome(False, mine.words, sentence, _both(question, mine), place)


def by_tones(question: Question, heard: Meant, verb: str = "played") -> Outcome | None:
    """Tones sung or played; None where they mean none of the answers, which is no wrong answer: `heard` says what."""
    if heard.place is None or question.by_tones is None:
        return None
    mine, told = question.answers[heard.place], question.by_tones.told(heard.tune)
    means = "" if told == mine.words else f", so {mine.words}"
    return by_choice(question, heard.place, f"You {verb} {told}{means}")


def given_up(question: Question) -> Outcome:
    """No answer: the right one is said and heard."""
    right = question.right_answer
    said = f"It is {right.words}: {question.because}." if _is_named(question) else f"{question.because}."
    said = said[0].upper() + said[1:]
    return Outcome(False, "", said, (Part(f"right: {right.words}", right.sound),))


def _both(question: Question, mine: Answer) -> tuple[Part, ...]:
    right = question.right_answer
    return (Part(f"yours: {mine.words}", mine.sound), Part(f"right: {right.words}", right.sound))


def _is_named(question: Question) -> bool:
    """Whether the answers are degrees, so that one lies higher or lower than another."""
    return question.kind in ("which_degree", "sing_held", "next_lower")


def _difference(question: Question, mine: Answer, said: str) -> str:
    right = question.right_answer
    if mine.pitch is None or right.pitch is None or not _is_named(question):
        return f"{said}, but {question.because}."
    return f"{said}; it is {right.words}, {apart(mine.pitch, right.pitch)}: {question.because}."
