"""Laws of the tree: any line, any decisions, every depth a consistent cut."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from earloop.line import Line, Meter, Span, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading.decisions import Decisions
from earloop.reading.degrees import degrees_in
from earloop.reading.record import DEEPEST, Key, Tonic, Voice, Weights
from earloop.reading.weights import find_weights

LENGTHS = (0.25, 1 / 3, 0.5, 0.75, 1.0, 1.5, 2.0, 4.0)
HOME = Tonic(Key(0), 1.0, (0,), 1.0)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Line, tuple[Span, ...], tuple[Voice, ...]]:
    """A line with graces, rests, any phrases, one or two lines, with or without a meter."""
    size = draw(st.integers(1, 40))
    time, tones = 0.0, []
    for _ in range(size):
        grace = draw(st.integers(0, 7)) == 0
        length = 0.0 if grace else draw(st.sampled_from(LENGTHS))
        tones.append(Tone(time, length, pitch_from_midi(draw(st.integers(48, 84))), grace=grace))
        time += length + draw(st.sampled_from((0.0, 0.0, 0.0, 1.0))) * (not grace)
    meter = draw(st.sampled_from((None, Meter(4, 4, 1.0), Meter(6, 8), Meter(5, 4))))
    ends = sorted(draw(st.sets(st.integers(0, size - 1), max_size=5)) | {size - 1})
    firsts = [0, *(end + 1 for end in ends[:-1])]
    phrases = tuple(Span(a, b) for a, b in zip(firsts, ends, strict=True))
    voices: tuple[Voice, ...] = ("single",) * size
    if draw(st.booleans()):
        voices = tuple(draw(st.lists(st.sampled_from(("upper", "lower")), min_size=size, max_size=size)))
    return Line(tuple(tones), meters=((0.0, meter),) if meter else ()), phrases, voices


def weigh(case: tuple[Line, tuple[Span, ...], tuple[Voice, ...]], decided: Decisions | None = None) -> Weights:
    line, phrases, voices = case
    return find_weights(line, HOME, phrases, degrees_in(line.columns, HOME.key), voices, decided or Decisions())


def check_tree(weights: Weights) -> None:
    """One root, no cycle, no tone above its parent in weight or level."""
    assert weights.parent.count(-1) == 1
    for index, above in enumerate(weights.parent):
        if above >= 0:
            assert weights.weight[index] <= weights.weight[above]
            assert weights.level[index] <= weights.level[above]
        at, steps = index, 0
        while weights.parent[at] >= 0:
            at, steps = weights.parent[at], steps + 1
            assert steps <= len(weights.parent)


@given(cases())
def test_any_line_has_a_tree(case: tuple[Line, tuple[Span, ...], tuple[Voice, ...]]) -> None:
    """The tree is total; graces are leaves at level 0; a phrase keeps a tone to the end; sure is a chance."""
    weights = weigh(case)
    check_tree(weights)
    line, phrases, _ = case
    for span in phrases:
        full = [i for i in span.indexes if not line[i].grace]
        assert max(weights.level[i] for i in span.indexes) == DEEPEST
        if full:
            graces = set(span.indexes) - set(full)
            assert all(weights.level[i] == 0 and weights.figure[i] == "grace" for i in graces)
            assert not graces & set(weights.parent)
    assert all(0.5 <= chance < 1.0 for chance in weights.sure)


@given(cases())
def test_ornaments_stay_in_their_own_line(case: tuple[Line, tuple[Span, ...], tuple[Voice, ...]]) -> None:
    """Only a line's own pillar of a phrase hangs on another line."""
    weights = weigh(case)
    line, phrases, voices = case
    for span in phrases:
        for voice in {voices[i] for i in span.indexes}:
            crossing = [
                i
                for i in span.indexes
                if voices[i] == voice
                and not line[i].grace
                and weights.parent[i] in span
                and voices[weights.parent[i]] != voice
            ]
            assert len(crossing) <= 2  # the line's pillar, and the phrase's goal where it is another tone


@given(cases(), st.data())
def test_decided_levels_hold(case: tuple[Line, tuple[Span, ...], tuple[Voice, ...]], data: st.DataObject) -> None:
    """A decided level is never overruled, and the tree stays a tree."""
    size = len(case[0])
    levels = data.draw(st.dictionaries(st.integers(0, size - 1), st.integers(0, DEEPEST), max_size=6))
    weights = weigh(case, Decisions(levels=levels))
    check_tree(weights)
    assert all(weights.level[index] == level for index, level in levels.items())


@given(cases(), st.data())
def test_decided_ornaments_hold(case: tuple[Line, tuple[Span, ...], tuple[Voice, ...]], data: st.DataObject) -> None:
    """Decided ornaments hang where they were put; with decided levels too, the levels hold and it is still a tree."""
    size = len(case[0])
    picks = data.draw(st.dictionaries(st.integers(0, size - 1), st.integers(0, size - 1), max_size=5))
    forward = {index: host for index, host in picks.items() if index < host}
    weights = weigh(case, Decisions(decorates=forward))
    check_tree(weights)
    assert all(weights.parent[index] == host for index, host in forward.items())
    levels = data.draw(st.dictionaries(st.integers(0, size - 1), st.integers(0, DEEPEST), max_size=4))
    both = weigh(case, Decisions(decorates=picks, levels=levels))
    check_tree(both)
    assert all(both.level[index] == level for index, level in levels.items())


@given(cases(), st.integers(-6, 6), st.integers(-2, 2))
def test_transposed_alike(case: tuple[Line, tuple[Span, ...], tuple[Voice, ...]], semitones: int, octaves: int) -> None:
    """Law 1: transposing first or last makes no difference to the tree."""
    line, phrases, voices = case
    fifths = semitones * 7 % 12
    fifths -= 12 * (fifths > 6)
    steps = fifths * 4 % 7 - (7 if fifths * 4 % 7 > 3 else 0)
    moved = line.transposed(steps + 7 * octaves, _semitones(steps, fifths) + 12 * octaves)
    home = replace(HOME, key=Key(fifths))
    weights = find_weights(moved, home, phrases, degrees_in(moved.columns, home.key), voices)
    assert weights == weigh(case)


def _semitones(steps: int, fifths: int) -> int:
    """The size in semitones of the interval of `steps` letters that lies `fifths` away on the line of fifths."""
    return next(s for s in range(-6, 7) if (s * 7 - fifths) % 12 == 0 and abs(s - steps * 12 / 7) < 1.6)
