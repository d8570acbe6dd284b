"""Does this lean release down or up; which tone is held under this ornament."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from random import Random

from earloop.coaching.by_tones import names_in, one_tone_each
from earloop.coaching.degree_answers import can_be_asked, degree_answers, degrees_over, keys_of
from earloop.coaching.difficulty import from_home, grows, held_to_scale, lightness, local_key
from earloop.coaching.passages import MOST_TONES, passage
from earloop.coaching.question import Answer, Naming, Part, Question, Spot
from earloop.coaching.scale import moved_in_key
from earloop.coaching.sounds import over_held, page, tones, tonic_first
from earloop.layers import build
from earloop.line import Pitch, Span
from earloop.reading.degrees import degree_of
from earloop.reading.record import Degree, Key, Lean, Reading


def lean_way(reading: Reading, phrase: int) -> Iterator[Spot]:
    """The phrase up to a lean: with its release, or without, so that it must be heard ahead."""
    whole = reading.phrases[phrase]
    for lean in reading.leans:
        if lean.lean not in whole or lean.release not in whole or not _has_a_way(reading, lean):
            continue
        between = lean.release - lean.lean - 1
        for released in (True, False) if between == 0 else (False,):
            difficulty = held_to_scale(
                0.05
                + 0.3 * (not released)
                + 0.15 * (not _falls(reading, lean))
                + 0.2 * (1 - lean.stress)
                + 0.15 * grows(between, 2)
                + 0.2 * from_home(reading, lean.lean)
            )
            make = partial(_lean_way, reading, phrase, lean, released, difficulty)
            yield Spot("lean_way", phrase, (lean.lean, lean.release), difficulty, make)


def _has_a_way(reading: Reading, lean: Lean) -> bool:
    """Whether letters and sound agree on up or down. A lean set by hand may go anywhere."""
    first, second = reading.line[lean.lean].pitch, reading.line[lean.release].pitch
    letters, keys = second.height - first.height, second.midi - first.midi
    if lean.lean >= lean.release or letters * keys <= 0 or reading.line[lean.lean].length <= 0:
        return False
    return (_other_way(reading, lean).midi - first.midi) * keys < 0


def _other_way(reading: Reading, lean: Lean) -> Pitch:
    """The neighbor on the lean's other side."""
    return moved_in_key(reading, lean.lean, 1 if _falls(reading, lean) else -1)


def _falls(reading: Reading, lean: Lean) -> bool:
    return reading.line[lean.release].midi < reading.line[lean.lean].midi


def _lean_way(
    reading: Reading, phrase: int, lean: Lean, released: bool, difficulty: float, rng: Random, naming: Naming
) -> Question:
    span = passage(reading, phrase, lean.lean)
    last = lean.release if released else lean.lean
    leaning, goal = reading.line[lean.lean].pitch, reading.line[lean.release].pitch
    falls = _falls(reading, lean)
    other = _other_way(reading, lean)
    ways = (goal, other) if falls else (other, goal)
    answers = tuple(
        Answer(word[0], word, tones(reading, [leaning, pitch], [lean.lean, lean.release]), pitch)
        for word, pitch in zip(("down", "up"), ways, strict=True)
    )
    key = local_key(reading, lean.release).key
    first = naming(degree_of(leaning.fifths, key), leaning, key.mode)
    second = naming(reading.local_degrees[lean.release], goal, key.mode)
    where = "" if key == reading.home.key else f" in {key.name}"
    did = "did the lean in the last two tones release" if released else "the last tone leans: does it release"
    return Question(
        kind="lean_way",
        item="question:lean_way",
        phrase=phrase,
        about=(lean.lean, lean.release),
        words=f"{did[0].upper()}{did[1:]} down or up?",
        sound=(Part("the phrase, up to the lean", page(reading, Span(min(span.first, lean.lean), last))),),
        answers=answers,
        right=0 if falls else 1,
        difficulty=difficulty,
        because=f"{first} leans and releases {'down' if falls else 'up'} to {second}{where}",
        by_tones=one_tone_each("the release", answers, names_in(key, naming)),
        degree=str(reading.local_degrees[lean.release]),
    )


def sing_held(reading: Reading, phrase: int) -> Iterator[Spot]:
    """The phrase up to the end of an ornament: the tone that goes on below it in the ear is wanted."""
    whole = reading.phrases[phrase]
    layer = build(reading, "held", whole)
    start = reading.line[whole.first].onset
    for tone in layer.tones:
        if tone.role != "held":
            continue
        last = _ornament(reading, whole, tone.source, tone.onset + tone.length + start, layer.depth)
        key, degree, words = keys_of(reading, tone.source)[-1]
        if last is None or not can_be_asked(degree, key):
            continue
        difficulty = held_to_scale(
            0.05
            + 0.35 * grows(last - tone.source - 1, 3)
            + 0.15 * grows(reading.line[last].end - reading.line[tone.source].end, 3)
            + 0.25 * lightness(reading, tone.source)
            + 0.2 * from_home(reading, tone.source)
        )
        make = partial(_sing_held, reading, phrase, (tone.source, last), (key, degree, words), difficulty)
        yield Spot("sing_held", phrase, (tone.source, last), difficulty, make)


def _ornament(reading: Reading, whole: Span, held: int, until: float, depth: int) -> int | None:
    """The last tone of the ornament over a held tone; None where nothing but the tone itself is heard over it."""
    voice = reading.voices[held]
    mine = ("single", voice) if voice != "single" else ("single", "upper", "middle", "lower")
    over = [
        i
        for i in range(held + 1, min(whole.last + 1, held + MOST_TONES))
        if reading.line[i].onset < until - 1e-9 and reading.weights.level[i] < depth and reading.voices[i] in mine
    ]
    if not any(reading.line[i].pitch.pc != reading.line[held].pitch.pc for i in over):
        return None
    return over[-1]


def _sing_held(
    reading: Reading,
    phrase: int,
    tones_of_it: tuple[int, int],
    asked: tuple[Key, Degree, str],
    difficulty: float,
    rng: Random,
    naming: Naming,
) -> Question:
    held, last = tones_of_it
    key, degree, words = asked
    span = passage(reading, phrase, held)
    pitch = reading.line[held].pitch
    heard, over = Span(min(span.first, held), last), page(reading, Span(held, last))
    answers, right = degree_answers(
        degree,
        degrees_over(reading, span, key),
        key,
        pitch,
        naming,
        lambda tone: over_held(over, tone),
    )
    voice = reading.voices[held]
    line = "" if voice == "single" else f" in the {voice} line"
    return Question(
        kind="sing_held",
        item="question:sing_held",
        phrase=phrase,
        about=(held, last),
        words=f"Under the ornament that ended just now a tone is held{line}: which degree is it{words}?",
        sound=(*tonic_first(reading, heard, key), Part("the phrase, up to the ornament's end", page(reading, heard))),
        answers=answers,
        right=right,
        difficulty=difficulty,
        because=f"it is held{line} until the skeleton moves on",
        by_tones=one_tone_each("the held tone", answers, names_in(key, naming, answers)),
        degree=str(degree),
    )
