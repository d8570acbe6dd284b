"""Laws 1, 3 and 6 of the house: transposing and reading commute; reading is total; a decision stays."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading import DEEPEST, Decisions, Key, Reading, read
from tests.made_lines import lines

MOVES = ((1, 2), (-1, -1), (2, 3), (4, 7), (-7, -12), (3, 6), (0, 1))


def heard(reading: Reading) -> dict[str, object]:
    """Everything of a reading that a transposition must not change."""
    home = reading.home
    return {
        "degrees": reading.degrees,
        "local degrees": reading.local_degrees,
        "voices": reading.voices,
        "levels": reading.weights.level,
        "parents": reading.weights.parent,
        "figures": reading.weights.figure,
        "phrases": reading.phrases,
        "gestures": reading.gestures,
        "leans": [(x.lean, x.release, x.degrees) for x in reading.leans],
        "motives": [(x.name, x.span, x.treatment, x.steps) for x in reading.motives],
        "links": [(x.first, x.second, x.voice, x.steps) for x in reading.links],
        "bridges": reading.bridges,
        "mode": home.key.mode,
        "ranked": tuple((pc - home.key.pc) % 12 for pc in home.ranked),
    }


@given(lines(), st.sampled_from(MOVES))
def test_reading_a_transposed_line_is_transposing_its_reading(line: Line, move: tuple[int, int]) -> None:
    there, here = heard(read(line.transposed(*move))), heard(read(line))
    for part, value in here.items():
        assert there[part] == value, part


@given(lines())
def test_a_reading_is_whole(line: Line) -> None:
    reading = read(line)
    size = len(line)
    for column in (reading.degrees, reading.local_degrees, reading.voices, reading.voice_sure, reading.weights.level):
        assert len(column) == size
    for spans in (reading.phrases, reading.gestures):
        assert [i for span in spans for i in span.indexes] == list(range(size))
    assert {span.last for span in reading.phrases} <= {span.last for span in reading.gestures}
    assert len(reading.phrase_sure) == len(reading.phrases)


@given(lines())
def test_every_skeleton_is_a_consistent_cut_of_one_tree(line: Line) -> None:
    weights = read(line).weights
    assert sum(parent < 0 for parent in weights.parent) == 1
    for child, parent in enumerate(weights.parent):
        if parent >= 0:
            assert weights.level[child] <= weights.level[parent]
            assert weights.weight[child] <= weights.weight[parent]
        seen, at = set(), child
        while at >= 0:
            assert at not in seen, "the tree has a ring"
            seen.add(at)
            at = weights.parent[at]


@given(lines())
def test_every_phrase_keeps_a_tone_in_the_deepest_skeleton(line: Line) -> None:
    reading = read(line)
    kept = set(reading.skeleton(DEEPEST))
    assert all(kept & set(span.indexes) for span in reading.phrases)


@pytest.mark.parametrize("size", [1, 2, 3, 2000])
def test_one_tone_or_thousands_on_one_pitch_are_read(size: int) -> None:
    line = Line(tuple(Tone(i * 0.5, 0.5, pitch_from_midi(60)) for i in range(size)))
    assert len(read(line).degrees) == size


def test_a_hundred_thousand_tones_are_read() -> None:
    keys = [60 + (i * 7 + i // 5) % 17 for i in range(100_000)]
    line = Line(tuple(Tone(i * 0.5, 0.5, pitch_from_midi(key)) for i, key in enumerate(keys)))
    assert len(read(line).weights.level) == 100_000


@st.composite
def decided_lines(draw: st.DrawFn) -> tuple[Line, Decisions]:
    line = draw(lines(30))
    index = st.integers(0, len(line) - 1)
    decided = Decisions(
        levels=draw(st.dictionaries(index, st.integers(0, DEEPEST), max_size=3)),
        voices=draw(st.dictionaries(index, st.sampled_from(("upper", "middle", "lower", "single")), max_size=3)),
        phrase_ends=draw(st.dictionaries(index, st.booleans(), max_size=3)),
        gesture_ends=draw(st.dictionaries(index, st.just(True), max_size=3)),
        home=draw(st.none() | st.builds(Key, st.integers(-5, 5), st.sampled_from(("major", "minor")))),
        words=draw(st.dictionaries(index, st.sampled_from(("far bell", "down-bow")), max_size=2)),
    )
    last = len(line) - 1
    ends = {i: on for i, on in decided.phrase_ends.items() if i < last}
    return line, replace(decided, phrase_ends=ends)


@settings(max_examples=60)
@given(decided_lines())
def test_a_decision_is_never_overruled(case: tuple[Line, Decisions]) -> None:
    line, decided = case
    reading = read(line, decided)
    for i, level in decided.levels.items():
        assert reading.weights.level[i] == level, ("level", i)
    for i, voice in decided.voices.items():
        assert reading.voices[i] == voice, ("line", i)
    ends = {span.last for span in reading.phrases}
    for i, on in decided.phrase_ends.items():
        assert (i in ends) == on, ("phrase", i)
    for i in decided.gesture_ends:
        assert i in {span.last for span in reading.gestures}, ("gesture", i)
    if decided.home:
        assert reading.home.key == decided.home
    assert dict(reading.words) == decided.words
