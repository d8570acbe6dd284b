"""Where is home; which degree was that tone."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from functools import partial
from random import Random

from earloop.coaching.by_tones import names_in, one_tone_each
from earloop.coaching.degree_answers import can_be_asked, degree_answers, degrees_over, keys_of
from earloop.coaching.difficulty import away, from_home, grows, held_to_scale, keys_apart, lightness, local_key
from earloop.coaching.passages import MOST_TONES, nearest_tone, passage, stretches
from earloop.coaching.question import Answer, Naming, Part, Question, Spot
from earloop.coaching.scale import SIZES, pitch_of
from earloop.coaching.sounds import page, tones, tonic_first
from earloop.line import Pitch, Span
from earloop.reading.record import Degree, Key, Reading

CANDIDATES = 3
FEWEST = 3
"""Tones that a phrase needs before one of them has a place in it."""
PLACES = ("the first", "the second", "the third")


def which_degree(reading: Reading, phrase: int) -> Iterator[Spot]:
    """One tone of the phrase sounds again. Asked in the home key and, where the degree differs, in the local one."""
    whole = reading.phrases[phrase]
    for index in whole.indexes if len(whole) >= FEWEST else ():
        if reading.line[index].length <= 0:
            continue
        for key, degree, words in keys_of(reading, index):
            if can_be_asked(degree, key):
                span = passage(reading, phrase, index)
                hard = (
                    0.05
                    + 0.35 * lightness(reading, index)
                    + 0.25 * (grows(keys_apart(key, reading.home.key), 2) or from_home(reading, index))
                    + 0.2 * grows(span.last - index, 8)
                    + 0.15 * bool(degree.alter)
                )
                make = partial(_which_degree, reading, phrase, index, span, (key, degree, words), held_to_scale(hard))
                yield Spot("which_degree", phrase, (index,), held_to_scale(hard), make)


def _which_degree(
    reading: Reading,
    phrase: int,
    index: int,
    span: Span,
    asked: tuple[Key, Degree, str],
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    key, degree, words = asked
    pitch = reading.line[index].pitch
    tonic = pitch_of(Degree(1), key, pitch)
    answers, right = degree_answers(
        degree, degrees_over(reading, span, key), key, pitch, naming, lambda tone: tones(reading, [tonic, tone])
    )
    return Question(
        kind="which_degree",
        item="question:which_degree",
        phrase=phrase,
        about=(index,),
        words=f"After the phrase one of its tones sounded again: which degree was it{words}?",
        sound=(
            *tonic_first(reading, span, key),
            Part("the phrase", page(reading, span)),
            Part("one of its tones", tones(reading, [pitch], [index])),
        ),
        answers=answers,
        right=right,
        difficulty=difficulty,
        because=_stands(degree, tonic),
        by_tones=one_tone_each("that tone", answers, names_in(key, naming, answers)),
        degree=str(degree),
    )


def _stands(degree: Degree, tonic: Pitch) -> str:
    name = f"{tonic.letter}{tonic.accidental}"
    if degree.number > 1:
        return f"it stands {SIZES[degree.number - 1]} above the tonic, {name}"
    return f"it stands right beside the tonic, {name}" if degree.alter else f"it is the tonic, {name}"


def where_home(reading: Reading, phrase: int) -> Iterator[Spot]:
    """Three tones of the line follow the phrase, one of them the home tonic; so too for a gesture in its own key."""
    for span in stretches(reading, phrase):
        away = any(local_key(reading, i).key.pc != reading.home.key.pc for i in span.indexes)
        yield from _home_spots(reading, phrase, span, reading.home.key, ("", " of the whole piece" if away else ""))
    whole = reading.phrases[phrase]
    for local in reading.local[bisect_left(reading.local, whole.first, key=lambda local: local.span.first) :]:
        span = local.span
        if span.first > whole.last:
            return
        own = nearest_tone(reading, span, local.key.pc)
        if local.key.pc != reading.home.key.pc and len(span) <= MOST_TONES and own is not None and own in span:
            yield from _home_spots(reading, phrase, span, local.key, (" in the gesture's own little key", ""))


def _home_spots(reading: Reading, phrase: int, span: Span, key: Key, words: tuple[str, str]) -> Iterator[Spot]:
    tonic = nearest_tone(reading, span, key.pc)
    others = _others(reading, span, key.pc)
    if tonic is None or not others or len(span) < FEWEST:
        return
    heard = {reading.line[i].pitch.pc for i in span.indexes}
    difficulty = held_to_scale(
        0.1
        + 0.25 * (reading.line[span.last].pitch.pc != key.pc)
        + 0.2 * (key.pc not in heard)
        + 0.3 * grows(max(away(reading, span, key), keys_apart(key, reading.home.key)), 2)
        + 0.1 * (key.mode == "minor")
    )
    make = partial(_where_home, reading, phrase, span, (tonic, others), (key, *words), difficulty)
    yield Spot("where_home", phrase, (tonic,), difficulty, make)


def _others(reading: Reading, span: Span, pc: int) -> tuple[int, ...]:
    """The weightiest tones of the span, one of each pitch class but the tonic's; four at most."""
    found: dict[int, int] = {}
    for i in sorted(span.indexes, key=lambda i: -reading.weights.weight[i]):
        if reading.line[i].pitch.pc != pc and reading.line[i].length > 0:
            found.setdefault(reading.line[i].pitch.pc, i)
    return tuple(found.values())[:4]


def _where_home(
    reading: Reading,
    phrase: int,
    span: Span,
    offered: tuple[int, Sequence[int]],
    asked: tuple[Key, str, str],
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    key, where, whose = asked
    tonic, others = offered
    chosen = [tonic, *rng.sample(list(others), min(CANDIDATES - 1, len(others)))]
    rng.shuffle(chosen)
    single = [tones(reading, [reading.line[i].pitch], [i]) for i in chosen]
    answers = tuple(
        Answer(
            "abc"[place], f"{PLACES[place]} tone", sound, reading.line[i].pitch, _in_words(reading, i, where, naming)
        )
        for place, (i, sound) in enumerate(zip(chosen, single, strict=True))
    )
    sound = [Part(f"{PLACES[place]} tone", performance) for place, performance in enumerate(single)]
    what = "gesture" if where else "phrase"
    count = "three" if len(chosen) == CANDIDATES else "two"
    right, pitch = chosen.index(tonic), reading.line[tonic].pitch
    return Question(
        kind="where_home",
        item="question:where_home",
        phrase=phrase,
        about=(tonic,),
        words=f"Where is home{where}: which of the {count} tones after the {what} is the tonic{whose}?",
        sound=(Part(f"the {what}", page(reading, span)), *sound),
        answers=answers,
        right=right,
        difficulty=difficulty,
        because=f"{PLACES[right]} tone is the tonic, {pitch.letter}{pitch.accidental}",
        by_tones=one_tone_each("the tonic", answers, names_in(key, naming)),
        degree="1",
    )


def _in_words(reading: Reading, index: int, where: str, naming: Naming) -> str:
    """The tone's degree, in its own key where that is asked about."""
    pitch = reading.line[index].pitch
    if where:
        return naming(reading.local_degrees[index], pitch, local_key(reading, index).key.mode)
    return naming(reading.degrees[index], pitch, reading.home.key.mode)
