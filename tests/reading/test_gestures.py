"""Gestures: short-short-long groups inside phrases, bounded by decisions and phrase ends."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Marks, Span
from earloop.reading.decisions import Decisions
from earloop.reading.gestures import find_gestures
from earloop.reading.phrases import find_phrases
from tests.reading.test_phrases import HOME, line_of, marked, strange_line, tones


def lasts(line: Line, phrases: tuple[Span, ...], decided: Decisions | None = None) -> list[int]:
    found = find_gestures(line, phrases, decided or Decisions())
    assert [g.first for g in found] == [0, *(g.last + 1 for g in found[:-1])]
    assert found[-1].last == len(line) - 1
    assert {p.last for p in phrases} <= {g.last for g in found}
    return [g.last for g in found]


def test_a_gesture_runs_to_its_long_tone() -> None:
    """Short-short-long three times: the long tone closes (agogic accent)."""
    line = line_of([60, 62, 64, 62, 64, 65, 64, 65, 67], [0.5, 0.5, 1.0] * 3)
    assert lasts(line, (line.whole,)) == [2, 5, 8]


def test_short_short_short_long() -> None:
    line = line_of([67, 65, 64, 62, 65, 64, 62, 60], [0.25, 0.25, 0.25, 1.25] * 2)
    assert lasts(line, (line.whole,)) == [3, 7]


def test_even_tones_divide_at_a_leap() -> None:
    """Two runs of four by step with a leap of a sixth between."""
    line = line_of([60, 62, 64, 65, 74, 72, 71, 69], [0.5] * 8)
    assert 3 in lasts(line, (line.whole,))


def test_a_slur_holds_a_gesture_together() -> None:
    plain = line_of([60, 62, 64, 65, 74, 72, 71, 69], [0.5] * 8)
    bound = marked(plain, {2: Marks(slur_starts=1), 5: Marks(slur_stops=1)})
    assert 3 not in lasts(bound, (bound.whole,))


@pytest.mark.parametrize("moves", [(0, 2, 4), (0, -2, -4), (0, 5, 10)])
def test_a_sequence_divides_into_its_statements(moves: tuple[int, ...]) -> None:
    """Short, short, long, short, each statement at another pitch: parallel groups (grouping preference rule 6)."""
    statement = [60, 64, 62, 60]
    line = line_of([key + move for move in moves for key in statement], [0.5, 0.5, 1.5, 0.5] * 3)
    assert lasts(line, (line.whole,)) == [3, 7, 11]


def test_sizes_are_two_to_seven_mostly() -> None:
    """A long even line: nine gestures of ten have 2 to 7 tones."""
    line = line_of([60 + (5 * i) % 13 for i in range(300)], [0.25] * 300)
    phrases, _ = find_phrases(line, HOME)
    sizes = [len(g) for g in find_gestures(line, phrases)]
    assert sum(2 <= size <= 7 for size in sizes) >= 0.9 * len(sizes)


def test_decisions_hold() -> None:
    line = line_of([60, 62, 64, 62, 64, 65, 64, 65, 67], [0.5, 0.5, 1.0] * 3)
    decided = Decisions(gesture_ends={2: False, 3: True, 8: False, 40: True})
    found = lasts(line, (Span(0, 5), Span(6, 8)), decided)
    assert 2 not in found
    assert {3, 5, 8} <= set(found)


def test_a_long_stretch_where_every_end_is_barred() -> None:
    line = line_of([60 + i % 5 for i in range(150)], [0.5] * 150)
    decided = Decisions(gesture_ends=dict.fromkeys(range(149), False))
    assert lasts(line, (line.whole,), decided) == [149]


@pytest.mark.parametrize("steps", [(2, 3), (-4, -7)])
def test_transposed_lines_have_the_same_gestures(steps: tuple[int, int]) -> None:
    line = line_of([60, 62, 64, 62, 67, 65, 64, 65, 67, 72, 71, 60], [0.5, 0.5, 1.0, 0.25] * 3)
    assert find_gestures(line, (line.whole,)) == find_gestures(line.transposed(*steps), (line.whole,))


@settings(max_examples=50, deadline=None)
@given(tones, st.dictionaries(st.integers(-2, 70), st.booleans(), max_size=8))
def test_any_line_has_gestures(rows: list[tuple[int, float, float, str]], wanted: dict[int, bool]) -> None:
    line = strange_line(rows)
    phrases, _ = find_phrases(line, HOME)
    found = lasts(line, phrases, Decisions(gesture_ends=wanted))
    ends = {p.last for p in phrases}
    for index, on in wanted.items():
        if 0 <= index < len(line) and index not in ends:
            assert (index in found) is on
