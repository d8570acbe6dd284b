"""Which line was it that sounded; where the lower line goes on after an interruption."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from random import Random
from statistics import fmean
from typing import Literal

from earloop.coaching.by_tones import by_their_tones, names_in, one_tone_each
from earloop.coaching.degree_answers import can_be_asked, degree_answers, degrees_over, keys_of
from earloop.coaching.difficulty import away, from_home, grows, held_to_scale
from earloop.coaching.passages import MOST_TONES, passage, stretches
from earloop.coaching.question import Answer, Naming, Part, Question, Spot
from earloop.coaching.scale import SIZES
from earloop.coaching.sounds import page, sound_of, tones, tonic_first
from earloop.layers import Layer, build
from earloop.line import Span
from earloop.reading.record import Degree, Key, Link, Reading

OutsideLine = Literal["upper", "lower"]
FEWEST = 2
"""Tones that a line needs of its own before it can be known again."""
OCTAVE_HALF = 6.0
"""Semitones between the lines at which their distance helps half as much as it ever can."""


def which_line(reading: Reading, phrase: int) -> Iterator[Spot]:
    """The phrase, then its upper or its lower line: in true time, or closed up, which hides where it was silent."""
    for span in stretches(reading, phrase):
        yield from _line_spots(reading, phrase, span)


def _line_spots(reading: Reading, phrase: int, span: Span) -> Iterator[Spot]:
    upper, lower = build(reading, "upper", span), build(reading, "lower", span)
    own = {name: [t.source for t in layer.tones if t.voice != "single"] for name, layer in (("u", upper), ("l", lower))}
    if min(len(own["u"]), len(own["l"])) < FEWEST:
        return
    if [t.pitch for t in upper.tones] == [t.pitch for t in lower.tones]:
        return
    heights = [fmean(reading.line[i].midi for i in own[name]) for name in ("u", "l")]
    shared = 1 - (len(own["u"]) + len(own["l"])) / (len(upper.tones) + len(lower.tones))
    near, far = 1 - grows(abs(heights[0] - heights[1]), OCTAVE_HALF), grows(away(reading, span), 2)
    layers: tuple[tuple[OutsideLine, Layer], ...] = (("upper", upper), ("lower", lower))
    for name, layer in layers:
        for true_time in (True, False):
            difficulty = held_to_scale(0.5 * near + 0.2 * shared + 0.15 * (not true_time) + 0.15 * far)
            make = partial(_which_line, reading, phrase, span, name, true_time, difficulty)
            yield Spot("which_line", phrase, tuple(t.source for t in layer.tones), difficulty, make)


def _which_line(
    reading: Reading,
    phrase: int,
    span: Span,
    name: OutsideLine,
    true_time: bool,
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    names: tuple[OutsideLine, ...] = ("upper", "lower")
    answers = tuple(
        Answer(line[0], f"the {line} line", sound_of(reading, line, span, true_time=true_time)) for line in names
    )
    right = names.index(name)
    return Question(
        kind="which_line",
        item="question:which_line",
        phrase=phrase,
        about=tuple(tone.source for tone in build(reading, name, span).tones),
        words="After the phrase one of its lines sounded alone: was it the upper or the lower one?",
        sound=(Part("the phrase", page(reading, span)), Part("one of its lines", answers[right].sound)),
        answers=answers,
        right=right,
        difficulty=difficulty,
        because=_told_apart(reading, span, name, naming),
        by_tones=by_their_tones("line", *_keys_of_both(reading, span), names_in(reading.home.key, naming)),
    )


def _keys_of_both(reading: Reading, span: Span) -> tuple[list[int], list[int]]:
    upper, lower = build(reading, "upper", span), build(reading, "lower", span)
    return [tone.pitch.midi for tone in upper.tones], [tone.pitch.midi for tone in lower.tones]


def _told_apart(reading: Reading, span: Span, name: OutsideLine, naming: Naming) -> str:
    """By what the line that sounded could be known: where both begin, else where they end, else their height."""
    other: OutsideLine = "lower" if name == "upper" else "upper"
    mine, theirs = build(reading, name, span).tones, build(reading, other, span).tones
    for verb, place in (("begins", 0), ("ends", -1)):
        here, there = mine[place], theirs[place]
        if here.pitch != there.pitch:
            mode = reading.home.key.mode
            told = [naming(reading.degrees[tone.source], tone.pitch, mode) for tone in (here, there)]
            return f"it was the {name} line: it {verb} on {told[0]}, the {other} one on {told[1]}"
    return f"it was the {name} line: it lies {'higher' if name == 'upper' else 'lower'}"


def next_lower(reading: Reading, phrase: int) -> Iterator[Spot]:
    """The phrase up to where the lower line is about to go on: its next tone is wanted."""
    whole = reading.phrases[phrase]
    for link in reading.links:
        if link.first in whole and link.second in whole and _is_interrupted(reading, link):
            key, degree, words = keys_of(reading, link.second)[-1]
            if can_be_asked(degree, key):
                first, second = reading.line[link.first], reading.line[link.second]
                difficulty = held_to_scale(
                    0.1
                    + 0.35 * grows(link.across - 1, 3)
                    + 0.2 * grows(second.onset - first.end, 4)
                    + 0.15 * grows(abs(abs(link.steps) - 1), 2)
                    + 0.2 * from_home(reading, link.second)
                )
                make = partial(_next_lower, reading, phrase, link, (key, degree, words), difficulty)
                yield Spot("next_lower", phrase, (link.first, link.second), difficulty, make)


def _is_interrupted(reading: Reading, link: Link) -> bool:
    """Whether two tones follow each other in the lower line, with none but other lines' tones between."""
    voices = reading.voices
    between = range(link.first + 1, link.second)
    return (
        voices[link.first] == voices[link.second] == "lower"
        and 0 < len(between) < MOST_TONES
        and all(voices[i] in ("upper", "middle") for i in between)
        and any(reading.line[i].length > 0 for i in between)
    )


def _next_lower(
    reading: Reading,
    phrase: int,
    link: Link,
    asked: tuple[Key, Degree, str],
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    key, degree, words = asked
    span = passage(reading, phrase, link.second)
    start = Span(min(span.first, link.first), link.second - 1)
    before, goal = reading.line[link.first].pitch, reading.line[link.second].pitch
    answers, right = degree_answers(
        degree,
        degrees_over(reading, span, key),
        key,
        goal,
        naming,
        lambda tone: tones(reading, [before, tone], [link.first, link.second]),
    )
    way = "up" if link.steps > 0 else "down"
    column = reading.degrees if key == reading.home.key else reading.local_degrees
    came = naming(column[link.first], before, key.mode)
    goes = f"{SIZES[min(7, abs(link.steps))]} {way} from {came}" if link.steps else f"back to {came}"
    return Question(
        kind="next_lower",
        item=f"link:{link.first}-{link.second}",
        phrase=phrase,
        about=(link.first, link.second),
        words=f"The lower line was interrupted: which degree is its next tone{words}?",
        sound=(*tonic_first(reading, start, key), Part("the phrase, up to the interruption", page(reading, start))),
        answers=answers,
        right=right,
        difficulty=difficulty,
        because=f"the lower line goes on {goes}",
        by_tones=one_tone_each("the lower line's next tone", answers, names_in(key, naming, answers)),
        degree=str(degree),
    )
