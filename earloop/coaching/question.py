"""A question for the ear: what sounds, what is asked, the answers there are, and the right one.

Nothing here makes a question; see `questions.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Literal, get_args

from earloop.line import Pitch
from earloop.performing.events import Performance
from earloop.reading.record import Degree, Mode

QuestionKind = Literal[
    "where_home",
    "which_degree",
    "which_line",
    "lean_way",
    "changed_tone",
    "sing_held",
    "next_lower",
    "which_page",
]
QUESTION_KINDS: tuple[QuestionKind, ...] = get_args(QuestionKind)

Naming = Callable[[Degree, Pitch, Mode], str]
"""How the performer calls a degree: a number, a syllable, the note's own name; in plain ASCII."""


def by_number(degree: Degree, pitch: Pitch, mode: Mode) -> str:
    """`#4`: the naming where nothing else is wished."""
    return str(degree)


Tune = tuple[int, ...]
"""One tone or several in order, as pitch classes 0 to 11: the octave is free."""


@dataclass(frozen=True, slots=True)
class ByTones:
    """How a question is answered by singing or playing, in any octave; `by_tones.py` makes it, kind by kind.

    `what` says what to sing or play, such as `the first tone of that line`, and `more` what else is to be known of it.
    `tunes` goes with the answers: all that mean each of them. `names` calls each pitch class by its degree in the key
    in question.
    """

    what: str
    tunes: tuple[frozenset[Tune], ...]
    names: tuple[str, ...]
    more: str = ""

    @property
    def most(self) -> int:
        """Tones of the longest tune that means something."""
        return max(len(tune) for mine in self.tunes for tune in mine)

    def told(self, tune: Tune) -> str:
        """`1 3 #4`: the tune by its degrees."""
        return " ".join(self.names[pc] for pc in tune)


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that sounds, and what it is called while it does."""

    words: str
    performance: Performance


@dataclass(frozen=True, slots=True)
class Answer:
    """One possible answer, given by the key shown beside it.

    `sound` is what this answer would sound like. `pitch` is the tone it names, None where it names none. `really` says
    what a wrong answer named in truth, where its words don't tell (`degree 5`).
    """

    key: str
    words: str
    sound: Performance
    pitch: Pitch | None = None
    really: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """One question about one phrase (0-based).

    `item` is what is learned by it, always the same for the same thing (`question:which_line`, `link:12-18`);
    `about` are the tones in question. `right` is the place of the right answer. `by_tones` says how it is answered by
    singing or playing, None where no few tones tell the answers apart. `because` says why the right answer is right, as
    half a sentence. `degree` is the degree in question, in numbers, where the question is about one.
    """

    kind: QuestionKind
    item: str
    phrase: int
    about: tuple[int, ...]
    words: str
    sound: tuple[Part, ...]
    answers: tuple[Answer, ...]
    right: int
    difficulty: float
    because: str
    by_tones: ByTones | None
    degree: str = ""

    @property
    def right_answer(self) -> Answer:
        return self.answers[self.right]

    @property
    def ways(self) -> str:
        """How it may be answered beside by key: the second half of a sentence."""
        if self.by_tones is None:
            return ": no few tones tell these answers apart"
        more = f": {self.by_tones.more}" if self.by_tones.more else ""
        return f", or sing or play {self.by_tones.what}, in any octave{more}"


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of the reading that supports a question: the question is only made when it is asked.

    `difficulty` is 0 (plain) to 1; `about` are the tones in question. `make` leaves to chance only what the spot
    leaves open: the order of the answers, the direction of a change.
    """

    kind: QuestionKind
    phrase: int
    about: tuple[int, ...]
    difficulty: float
    make: Callable[[Random, Naming], Question]
