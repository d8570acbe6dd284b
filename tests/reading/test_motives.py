"""Motives: known operations on made motives are found again, with and without the help of gestures."""

from __future__ import annotations

import random
from collections.abc import Iterator

import pytest

from earloop.line import Line, Span, Tone
from earloop.line.pitch import Pitch
from earloop.reading import read
from earloop.reading.motives import find_motives, why_motive
from earloop.reading.record import Motive

Made = list[tuple[int, float]]
"""Diatonic height and quarters, tone by tone."""
CASES = 100
NEEDS_GROUPS = ("fragment", "extended", "ornamented", "simplified")


def made_motive(chance: random.Random) -> Made:
    """Five to eight tones that neither go all one way nor in even time."""
    size = chance.randint(5, 8)
    while True:
        steps = [chance.choice([-3, -2, -1, -1, 1, 1, 2, 3]) for _ in range(size - 1)]
        times = [chance.choice([0.5, 0.5, 1.0, 1.0, 1.5, 2.0]) for _ in range(size)]
        if len(set(times)) > 1 and len(set(steps)) > 1:
            heights = [35 + sum(steps[:i]) for i in range(size)]
            return list(zip(heights, times, strict=True))


def treated(chance: random.Random, motive: Made) -> Iterator[tuple[str, Made, Made]]:
    """Each known operation as (treatment, model, answer)."""
    shift = chance.choice([-4, -3, -2, 2, 3, 4])
    ornate = [
        part
        for i, (height, time) in enumerate(motive)
        for part in (
            [(height, time / 2), (height + 1, time / 4), (height, time / 4)]
            if i in (1, len(motive) - 2)
            else [(height, time)]
        )
    ]
    top = motive[0][0]
    yield "repeated", motive, motive
    yield "transposed", motive, [(height + shift, time) for height, time in motive]
    yield "inverted", motive, [(2 * top - height, time) for height, time in motive]
    yield "retrograde", motive, motive[::-1]
    yield "augmented", motive, [(height, 2 * time) for height, time in motive]
    yield "diminished", motive, [(height, time / 2) for height, time in motive]
    yield "fragment", motive, motive[: max(3, 2 * len(motive) // 3)]
    yield "extended", motive, [*motive, (motive[-1][0] + 1, 0.5), (motive[-1][0] + 2, 1.0)]
    yield "ornamented", motive, ornate
    yield "simplified", ornate, motive


def filler(chance: random.Random, size: int) -> Made:
    return [(chance.randint(28, 42), chance.choice([0.25, 0.75, 1.25, 0.5, 1.0])) for _ in range(size)]


def joined(parts: list[Made]) -> tuple[Line, tuple[Span, ...]]:
    tones, spans, at = [], [], 0.0
    for part in parts:
        spans.append(Span(len(tones), len(tones) + len(part) - 1))
        for height, time in part:
            tones.append(Tone(at, time, Pitch(height % 7, 0, height // 7)))
            at += time
    return Line(tuple(tones)), tuple(spans)


def find(line: Line, gestures: tuple[Span, ...]) -> tuple[Motive, ...]:
    return find_motives(line, (line.whole,), gestures)


@pytest.mark.parametrize("treatment", [name for name, _, _ in treated(random.Random(0), made_motive(random.Random(0)))])
def test_treatments_are_recovered_in_gestures(treatment: str) -> None:
    """At least .95 of a hundred cases each: the very span, its model and its treatment."""
    hits = 0
    for seed in range(CASES):
        chance = random.Random(seed)
        model, answer = next((m, a) for name, m, a in treated(chance, made_motive(chance)) if name == treatment)
        line, spans = joined([model, filler(chance, 5), answer, filler(chance, 6)])
        wanted = (treatment, spans[2], spans[0])
        hits += any((m.treatment, m.span, m.model) == wanted for m in find(line, spans))
    assert hits >= 0.95 * CASES


@pytest.mark.parametrize("treatment", ["repeated", "transposed", "inverted", "retrograde", "augmented", "diminished"])
def test_treatments_are_recovered_without_gestures(treatment: str) -> None:
    """The same with the whole line as one gesture; a chance likeness next door may add a tone at either end."""
    hits = 0
    for seed in range(CASES):
        chance = random.Random(seed)
        model, answer = next((m, a) for name, m, a in treated(chance, made_motive(chance)) if name == treatment)
        line, spans = joined([filler(chance, 4), model, filler(chance, 6), answer, filler(chance, 3)])
        hits += any(
            m.treatment == treatment
            and abs(m.span.first - spans[3].first) <= 1
            and abs(m.span.last - spans[3].last) <= 1
            for m in find(line, (line.whole,))
        )
    assert hits >= 0.95 * CASES


def test_chance_tones_make_few_motives() -> None:
    """Random lines: under one answer in a hundred tones."""
    found = tones = 0
    for seed in range(20):
        line, spans = joined([filler(random.Random(seed * 99 + k), 5) for k in range(20)])
        found += sum(motive.treatment != "new" for motive in find(line, spans))
        tones += len(line)
    assert found < tones / 100


def test_a_sequence_is_named_and_transposition_tells_tonal_from_exact() -> None:
    gesture: Made = [(35, 0.5), (37, 0.5), (36, 1.5), (35, 0.5)]
    line, spans = joined([[(height + k, time) for height, time in gesture] for k in (0, 1, 2)])
    found = find(line, spans)
    assert [(m.name, m.treatment, m.steps) for m in found] == [
        ("a", "new", 0),
        ("a", "sequence", 1),
        ("a", "sequence", 2),
    ]
    assert [m.exact for m in found] == [True, False, False]
    line, spans = joined([gesture, filler(random.Random(1), 5), [(height + 7, time) for height, time in gesture]])
    assert [(m.treatment, m.steps, m.exact) for m in find(line, spans)][1:] == [("transposed", 7, True)]


def test_two_motives_get_two_names_in_order_and_why_is_a_sentence() -> None:
    chance = random.Random(5)
    first, second = made_motive(chance), made_motive(chance)
    line, spans = joined([first, second, first, [(height + 2, time) for height, time in second]])
    found = find(line, spans)
    assert [(m.name, m.treatment) for m in found] == [
        ("a", "new"),
        ("b", "new"),
        ("a", "repeated"),
        ("b", "transposed"),
    ]
    words = [why_motive(read(line), motive) for motive in found]
    assert words[3].startswith("Motive b comes again in tones")
    assert all(sentence.endswith(".") and sentence.count(".") == 1 for sentence in words)


STATEMENT: Made = [(35, 0.5), (37, 0.5), (36, 1.5), (35, 0.5)]


def moved(steps: int, motive: Made = STATEMENT) -> Made:
    return [(height + steps, time) for height, time in motive]


def test_phrases_made_of_one_gesture_are_told_by_the_gesture() -> None:
    """The motive is the smallest thing that is used again (Schoenberg, Fundamentals of Musical Composition, ch. 3)."""
    line, spans = joined([STATEMENT, moved(1), moved(4), moved(5)])
    phrases = (Span(0, 7), Span(8, 15))
    found = find_motives(line, phrases, spans)
    assert [(m.name, m.span, m.steps) for m in found] == [
        ("a", span, k) for span, k in zip(spans, (0, 1, 4, 5), strict=True)
    ]
    line, spans = joined([STATEMENT, moved(1), STATEMENT, moved(1)])
    found = find_motives(line, phrases, spans)
    assert (phrases[1], phrases[0], "repeated") in [(m.span, m.model, m.treatment) for m in found]


def test_a_statement_of_a_sequence_ends_where_it_is_like_the_others() -> None:
    """A long tone after the last statement of a sequence belongs to none (common practice, no source)."""
    line, spans = joined([STATEMENT, moved(1), [*moved(2), (41, 3.0)]])
    assert [(m.span.last, m.treatment) for m in find(line, spans)][1:] == [(7, "sequence"), (11, "sequence")]


def test_a_pair_a_third_apart_is_no_sequence_but_three_are() -> None:
    """A sequence goes on (common practice, no source)."""
    line, spans = joined([STATEMENT, moved(2), filler(random.Random(3), 6)])
    assert [m.treatment for m in find(line, spans)] == ["new", "transposed"]
    line, spans = joined([STATEMENT, moved(2), moved(4)])
    assert [m.treatment for m in find(line, spans)] == ["new", "sequence", "sequence"]


def test_the_more_tones_agree_the_surer_and_the_more_came_before_the_less() -> None:
    """Likeness by chance halves with every tone that must agree, and doubles with the places where it may be found."""
    motive = made_motive(random.Random(7))
    assert len(motive) >= 5
    sure = []
    for size, between in ((3, 5), (4, 5), (5, 5), (5, 60)):
        part = motive[:size]
        line, spans = joined([part, filler(random.Random(2), between), moved(3, part)])
        sure += [m.sure for m in find(line, spans) if m.span == spans[2]]
    assert len(sure) == 4
    assert sure[0] < sure[1] < sure[2]
    assert sure[3] < sure[2]


def test_transposing_the_line_changes_nothing() -> None:
    """Law 1."""
    for seed in range(20):
        chance = random.Random(seed)
        motive = made_motive(chance)
        line, spans = joined([motive, filler(chance, 5), *[answer for _, _, answer in treated(chance, motive)]])
        assert find(line, spans) == find(line.transposed(4, 7), spans)


@pytest.mark.parametrize("size", [1, 2, 3, 7])
def test_short_and_even_and_grace_lines_are_read(size: int) -> None:
    """Law 3."""
    even = Line(tuple(Tone(i * 0.5, 0.5, Pitch(0, 0, 4)) for i in range(size)))
    graces = Line(tuple(Tone(0.0, 0.0, Pitch(i % 7, 0, 4), grace=True) for i in range(size)))
    for line in (even, graces):
        assert isinstance(find(line, (line.whole,)), tuple)
