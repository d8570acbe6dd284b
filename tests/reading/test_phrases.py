"""Phrases: signs and decisions rule, equal and parallel spans are found, and any line gets phrases."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Marks, Meter, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading.decisions import Decisions
from earloop.reading.phrases import find_phrases, why_phrase_end
from earloop.reading.record import Key, Tonic

HOME = Tonic(Key(0), 0.5, (0, 7), 0.9)


def line_of(midi: list[int], lengths: list[float], rests: dict[int, float] | None = None) -> Line:
    tones, onset = [], 0.0
    for index, (key, length) in enumerate(zip(midi, lengths, strict=True)):
        tones.append(Tone(onset, length, pitch_from_midi(key), grace=length == 0))
        onset += length + (rests or {}).get(index, 0.0)
    return Line(tuple(tones))


def marked(line: Line, marks: dict[int, Marks]) -> Line:
    tones = tuple(replace(t, marks=marks.get(i, t.marks)) for i, t in enumerate(line.tones))
    return replace(line, tones=tones)


def ends_of(line: Line, decided: Decisions | None = None) -> list[int]:
    spans, sure = find_phrases(line, HOME, decided or Decisions())
    assert [s.first for s in spans] == [0, *(s.last + 1 for s in spans[:-1])]
    assert spans[-1].last == len(line) - 1
    assert len(sure) == len(spans)
    assert sure[-1] == 1.0
    assert all(0.0 <= value <= 1.0 for value in sure)
    return [span.last for span in spans[:-1]]


OPENING = [60, 62, 64, 65, 67, 65, 67]
ANSWER = [60, 62, 64, 65, 64, 62, 60]
RHYTHM = [0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1.0]


def test_phrases_that_start_alike_and_end_long_are_found() -> None:
    """Four spans of one time, each closed by a long tone, the third a plain repeat: nothing else to choose."""
    line = line_of(OPENING + ANSWER + OPENING + ANSWER, RHYTHM * 4)
    assert ends_of(line) == [6, 13, 20]


def test_a_meter_that_holds_makes_ends_surer_not_other_ones() -> None:
    """Time that runs evenly helps to hear where a phrase ends (common practice, no source); changing meters don't."""
    free = line_of(OPENING + ANSWER + OPENING + ANSWER, RHYTHM * 4)
    held = replace(free, meters=((0.0, Meter(4, 4)), (8.0, Meter(4, 4, 8.0))))
    changing = replace(free, meters=((0.0, Meter(4, 4)), (8.0, Meter(3, 4, 8.0))))
    (spans, unsure), (same, sure), (alike, changed) = (find_phrases(line, HOME) for line in (free, held, changing))
    assert spans == same == alike
    assert unsure == changed
    assert all(0.5 < low < high for low, high in zip(unsure[:-1], sure[:-1], strict=True))


def test_rests_divide() -> None:
    """A rest of a quarter after every eight even tones."""
    midi = [60, 62, 64, 62, 65, 64, 62, 60] * 3
    assert ends_of(line_of(midi, [0.5] * 24, {7: 1.0, 15: 1.0})) == [7, 15]


def test_an_even_running_line_gets_phrases_of_breath_length() -> None:
    """Semiquavers without any rest: units of about 4 to 16 seconds at 90 quarters a minute, on average."""
    midi = [60 + (7 * i) % 12 + (i // 24) % 5 for i in range(480)]
    line = line_of(midi, [0.25] * 480)
    seconds = line.end * 60 / 90 / (len(ends_of(line)) + 1)
    assert 3.5 <= seconds <= 16


@pytest.mark.parametrize("sign", ["breath", "comma", "caesura", "dotted-bar", "double-bar"])
def test_signs_of_the_page_are_the_phrases(sign: str) -> None:
    """Printed signs outrank what long tones would say."""
    line = line_of(OPENING + ANSWER + OPENING + ANSWER, RHYTHM * 4)
    line = marked(line, {i: Marks(break_after=sign) for i in (4, 10, 17, 23)})
    spans, sure = find_phrases(line, HOME)
    assert [s.last for s in spans] == [4, 10, 17, 23, 27]
    assert min(sure) >= 0.9


def test_fermatas_end_phrases() -> None:
    line = marked(line_of(OPENING + ANSWER, RHYTHM * 2), {3: Marks(fermata=True), 9: Marks(fermata=True)})
    assert ends_of(line) == [3, 9]


HELD = Marks(fermata=True)


@pytest.mark.parametrize(
    ("signs", "expected"),
    [
        ({3: HELD, 4: HELD, 5: HELD, 9: HELD}, [5, 9]),
        ({0: HELD, 6: HELD, 12: HELD}, [6]),
        ({3: HELD, 6: HELD, 7: HELD, 8: Marks(break_after="comma")}, [3, 8]),
        ({4: Marks(break_after="comma"), 5: HELD, 9: HELD}, [4, 9]),
        ({4: Marks(break_after="comma"), 5: Marks(fermata=True, break_after="caesura")}, [4, 5]),
    ],
)
def test_held_tones_in_a_row_are_no_phrases_of_one_tone(signs: dict[int, Marks], expected: list[int]) -> None:
    """Of fermatas side by side the last ends the phrase; a lone tone stands apart only where a breath is marked."""
    line = marked(line_of(OPENING + ANSWER, RHYTHM * 2), signs)
    assert ends_of(line) == expected


def test_a_span_far_too_long_between_signs_is_divided() -> None:
    """Signs stand at the start only; the eight phrases after the last one are found by themselves."""
    line = line_of((OPENING + ANSWER) * 5, RHYTHM * 10)
    line = marked(line, {6: Marks(break_after="comma"), 13: Marks(break_after="comma")})
    ends = ends_of(line)
    assert ends[:2] == [6, 13]
    assert len(ends) >= 6


def test_double_bars_part_sections_and_not_phrases() -> None:
    """Two double bars, sections of four phrases: the phrases inside are found as ever."""
    line = line_of((OPENING + ANSWER) * 6, RHYTHM * 12)
    line = marked(line, {27: Marks(break_after="double-bar"), 55: Marks(break_after="double-bar")})
    assert ends_of(line) == list(range(6, 83, 7))


def test_fermatas_at_the_ends_of_sections_leave_their_phrases_alone() -> None:
    """Three fermatas, each after sixteen phrases: they say nothing of how long a phrase is."""
    line = marked(line_of((OPENING + ANSWER) * 32, RHYTHM * 64), dict.fromkeys((111, 223, 335), HELD))
    assert ends_of(line) == list(range(6, 447, 7))


def test_a_slur_is_not_cut() -> None:
    """Without the slur the long tone ends a phrase; under it the line goes on."""
    midi = [60, 62, 64, 65, 67, 69, 67, 65, 64, 62, 64, 65, 62, 60]
    lengths = [0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1.0]
    plain = line_of(midi, lengths)
    bound = marked(plain, {4: Marks(slur_starts=1), 9: Marks(slur_stops=1)})
    spans, sure = find_phrases(plain, HOME)
    assert [s.last for s in spans] == [6, 13]
    bound_spans, bound_sure = find_phrases(bound, HOME)
    assert 6 not in [s.last for s in bound_spans[:-1]] or bound_sure[0] < sure[0]


def test_decisions_are_never_overruled() -> None:
    """A set end stands and is sure, a removed one is gone, also against a printed sign; strange indexes are ignored."""
    line = marked(line_of(OPENING + ANSWER, RHYTHM * 2), {6: Marks(break_after="breath")})
    decided = Decisions(phrase_ends={6: False, 2: True, 13: False, 99: True, -4: True})
    spans, sure = find_phrases(line, HOME, decided)
    lasts = [s.last for s in spans]
    assert 2 in lasts
    assert 6 not in lasts
    assert sure[lasts.index(2)] == 1.0


def test_two_decided_ends_may_leave_one_tone() -> None:
    assert {3, 4} <= set(ends_of(line_of(OPENING, RHYTHM), Decisions(phrase_ends={3: True, 4: True})))


def test_grace_notes_never_end_a_phrase() -> None:
    lengths = [0.5, 0.5, 0.5, 2.0, 0.0, 0.5, 0.5, 0.5, 2.0, 0.0, 0.5, 0.5, 2.0]
    midi = [60, 62, 64, 62, 69, 67, 65, 64, 62, 69, 67, 65, 60]
    assert not {4, 9} & set(ends_of(line_of(midi, lengths)))


@pytest.mark.parametrize("steps", [(1, 1), (4, 7), (-3, -5), (7, 12)])
def test_transposed_lines_have_the_same_phrases(steps: tuple[int, int]) -> None:
    line = line_of((OPENING + ANSWER + [71, 67, 64, 62, 67, 60, 59]) * 2, RHYTHM * 6)
    moved = line.transposed(*steps)
    pc = steps[1] % 12
    home = Tonic(Key((pc * 7 + 5) % 12 - 5), 0.5, (pc,), 0.9)
    assert find_phrases(line, HOME) == find_phrases(moved, home)


def test_why_names_what_is_heard() -> None:
    line = line_of(OPENING + ANSWER + OPENING + ANSWER, RHYTHM * 4, {13: 1.0})
    spans, _ = find_phrases(line, HOME)
    words = [why_phrase_end(line, HOME, spans, k) for k in range(len(spans))]
    assert words[1] == "long, before a rest, falls to the tonic, what follows starts as the line did"
    assert words[-1] == "the line ends here"
    with pytest.raises(IndexError):
        why_phrase_end(line, HOME, spans, len(spans))


def test_why_names_the_sign() -> None:
    line = marked(line_of(OPENING + ANSWER, RHYTHM * 2), {6: Marks(break_after="dotted-bar")})
    spans, _ = find_phrases(line, HOME)
    assert why_phrase_end(line, HOME, spans, 0).startswith("the page has a dotted bar line here")


tones = st.lists(
    st.tuples(
        st.integers(0, 127),
        st.sampled_from([0.0, 1e-6, 0.25, 0.5, 1.0, 7.5, 5e8]),
        st.sampled_from([0.0, 0.0, 0.5, 1e6]),
        st.sampled_from(["", "", "", "breath", "slur", "stop", "fermata"]),
    ),
    min_size=1,
    max_size=60,
)


def strange_line(rows: list[tuple[int, float, float, str]]) -> Line:
    line = line_of([r[0] for r in rows], [r[1] for r in rows], {i: r[2] for i, r in enumerate(rows)})
    kinds = {"breath": Marks(break_after="breath"), "slur": Marks(slur_starts=1), "stop": Marks(slur_stops=1)}
    kinds["fermata"] = Marks(fermata=True)
    return marked(line, {i: kinds[r[3]] for i, r in enumerate(rows) if r[3]})


@settings(max_examples=60, deadline=None)
@given(tones, st.dictionaries(st.integers(-2, 70), st.booleans(), max_size=8))
def test_any_line_has_phrases(rows: list[tuple[int, float, float, str]], wanted: dict[int, bool]) -> None:
    """Law 3, and decisions hold whatever the line; every end has a reason."""
    line = strange_line(rows)
    ends = ends_of(line, Decisions(phrase_ends=wanted))
    for index, on in wanted.items():
        if 0 <= index < len(line) - 1:
            assert (index in ends) == on or not on
            assert on or index not in ends
    spans, _ = find_phrases(line, HOME, Decisions(phrase_ends=wanted))
    assert all(why_phrase_end(line, HOME, spans, k) for k in range(len(spans)))


@pytest.mark.parametrize("lengths", [[0.25], [0.25, 0.5, 1.0, 0.25, 0.25]])
def test_a_hundred_thousand_tones(lengths: list[float]) -> None:
    """Law 3 at its upper end; no phrase is left endless."""
    size = 100_000
    midi = [55 + (i * 5 + i // 7) % 24 for i in range(size)]
    line = line_of(midi, [lengths[i % len(lengths)] for i in range(size)])
    spans, _ = find_phrases(line, HOME)
    assert max(len(span) for span in spans) <= 200
