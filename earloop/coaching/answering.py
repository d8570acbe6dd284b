"""What an answer is worth: right or not, one sentence on the difference, and what is then heard."""

from __future__ import annotations

from dataclasses import dataclass

from earloop.coaching.question import Answer, Part, Question
from earloop.coaching.scale import apart
from earloop.coaching.sounds import with_another_tone

CALM = "Yes."


@dataclass(frozen=True, slots=True)
class Outcome:
    """`given` is what was said, in words; `sounds` is mine and then theirs, empty after a right answer.

    `place` is that of the answer given among the question's answers, None where it was none of them.
    """

    right: bool
    given: str
    sentence: str
    sounds: tuple[Part, ...] = ()
    place: int | None = None


def by_choice(question: Question, place: int) -> Outcome:
    """The answer at that place of the question's answers."""
    mine = question.answers[place]
    if place == question.right:
        return Outcome(True, mine.words, CALM, place=place)
    return Outcome(False, mine.words, _difference(question, mine), _both(question, mine), place)


def by_tone(question: Question, midi: int) -> Outcome:
    """A tone sung or played, in any octave, for a question that takes one."""
    for place, answer in enumerate(question.answers):
        if answer.pitch is not None and answer.pitch.pc == midi % 12:
            return by_choice(question, place)
    near = question.right_answer.pitch
    assert near is not None
    away = (midi - near.midi + 6) % 12 - 6
    sound = with_another_tone(question.right_answer.sound, near.midi + away)
    size = f"{abs(away)} semitone{'' if abs(away) == 1 else 's'} too {'high' if away > 0 else 'low'}"
    mine = Answer("", "another tone", sound)
    sentence = f"That tone is {size}: {question.because}."
    return Outcome(False, f"{away:+d} semitones", sentence, _both(question, mine))


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


def _difference(question: Question, mine: Answer) -> str:
    right = question.right_answer
    if mine.pitch is None or right.pitch is None or not _is_named(question):
        really = f", which is {mine.really}" if mine.really else ""
        return f"You said {mine.words}{really}, but {question.because}."
    return f"You said {mine.words}; it is {right.words}, {apart(mine.pitch, right.pitch)}: {question.because}."
