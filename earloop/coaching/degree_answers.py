"""The answers to a question for a degree: the scale's seven by their numbers, altered ones by letters."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from earloop.coaching.difficulty import local_key
from earloop.coaching.question import Answer, Naming
from earloop.coaching.scale import DIATONIC, pitch_of
from earloop.line import Pitch, Span
from earloop.performing import Performance
from earloop.reading.record import Degree, Key, Reading

LETTERS = "abcdef"
"""Keys of altered degrees; a phrase that has more of them offers the first ones and the right one."""


def can_be_asked(degree: Degree, key: Key) -> bool:
    """Whether the ear can tell the degree from the scale's own (a raised 3 sounds like 4)."""
    near = pitch_of(DIATONIC[0], key, Pitch(0, 0, 4))
    sounding = {pitch_of(plain, key, near).pc for plain in DIATONIC if plain != degree}
    return pitch_of(degree, key, near).pc not in sounding


def degree_answers(
    right: Degree,
    others: Iterable[Degree],
    key: Key,
    near: Pitch,
    naming: Naming,
    sound: Callable[[Pitch], Performance],
) -> tuple[tuple[Answer, ...], int]:
    """The answers and the place of the right one. `sound` says how an answer's tone is to be heard.

    No two of them sound alike: what can't be told apart by ear is offered once.
    """
    offered = _told_apart(right, others, key, near)
    answers = []
    letters = iter(LETTERS)
    for degree in offered:
        pitch = pitch_of(degree, key, near)
        sign = next(letters) if degree.alter else str(degree.number)
        answers.append(Answer(sign, naming(degree, pitch, key.mode), sound(pitch), pitch))
    return tuple(answers), offered.index(right)


def _told_apart(right: Degree, others: Iterable[Degree], key: Key, near: Pitch) -> list[Degree]:
    taken = {pitch_of(degree, key, near).pc for degree in (*DIATONIC, right)}
    altered = [right] if right.alter else []
    for degree in _in_order({degree for degree in others if degree.alter}):
        pc = pitch_of(degree, key, near).pc
        if pc not in taken and len(altered) < len(LETTERS):
            taken.add(pc)
            altered.append(degree)
    return [*DIATONIC, *_in_order(altered)]


def _in_order(degrees: Iterable[Degree]) -> list[Degree]:
    return sorted(degrees, key=lambda degree: (degree.number, degree.alter))


def keys_of(reading: Reading, index: int) -> list[tuple[Key, Degree, str]]:
    """The keys in which the tone may be asked for, its degree there, and the words that say which key is meant.

    One entry without words where home and local degree are the same.
    """
    home, local = reading.degrees[index], reading.local_degrees[index]
    if home == local:
        return [(reading.home.key, home, "")]
    own = local_key(reading, index).key
    at_home = (reading.home.key, home, f" in the home key, {reading.home.key.name}")
    if own == reading.home.key:  # only the letters that were guessed for it differ
        return [at_home]
    return [at_home, (own, local, f" in its own little key, {own.name}")]


def degrees_over(reading: Reading, span: Span, key: Key) -> list[Degree]:
    """The degrees of the span's tones that are heard in this key."""
    if key == reading.home.key:
        return [reading.degrees[i] for i in span.indexes]
    return [reading.local_degrees[i] for i in span.indexes if local_key(reading, i).key == key]
