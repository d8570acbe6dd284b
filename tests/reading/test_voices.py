"""Implied lines of passages whose reading is plain.

Sources: steps bind and leaps split (Bregman 1990; van Noorden 1975); parallel tenths and sixths broken into
alternate tones are the standard example of compound melody (common practice, no source). Passages are our own.
"""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading.decisions import Decisions
from earloop.reading.voices import find_voices, why_voice

SCALE = (0, 2, 4, 5, 7, 9, 11)
CURVE = (9, 8, 7, 6, 5, 6, 7, 8, 9, 10, 9, 8, 7)


def key(step: int) -> int:
    return 60 + 12 * (step // 7) + SCALE[step % 7]


def line_of(midi, lengths=None) -> Line:
    lengths = lengths or [0.5] * len(midi)
    starts = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    return Line(
        tuple(
            Tone(float(a), float(b), pitch_from_midi(int(m)), grace=b == 0)
            for a, b, m in zip(starts, lengths, midi, strict=True)
        )
    )


def labels_of(midi, lengths=None):
    return find_voices(line_of(midi, lengths))[0]


@pytest.mark.parametrize("apart", [9, 7, 5, 4])
def test_two_lines_in_parallel_are_told_apart(apart):
    """Tones in turn of two parallel lines a tenth, an octave, a sixth or a fifth apart are upper and lower in turn."""
    midi = [key(x) for step in CURVE for x in (step, step - apart)]
    assert labels_of(midi) == ("upper", "lower") * len(CURVE)


def test_line_against_pedal():
    """A moving line over a repeated low tone is the upper one."""
    midi = [x for step in CURVE for x in (key(step), 48)]
    assert labels_of(midi) == ("upper", "lower") * len(CURVE)


def test_ornament_stays_with_its_tone():
    """A neighbor figure in one line of a compound melody doesn't leave it, even where it passes near the other."""
    midi, truth = [], []
    for step in CURVE * 2:
        midi += [key(step), key(step - 1), key(step), key(step - 4)]
        truth += ["upper"] * 3 + ["lower"]
    labels = labels_of(midi, [0.25, 0.125, 0.125, 0.5] * (len(midi) // 4))
    assert np.mean([a == b for a, b in zip(labels, truth, strict=True)]) > 0.95


SINGLES = {
    "one tone": [60],
    "two tones far apart": [60, 80],
    "three tones far apart": [60, 80, 61],
    "scale up and down": [key(k) for k in [*range(15), *range(13, -1, -1)]],
    "chromatic scale": list(range(50, 80)),
    "repeated tone": [60] * 30,
    "turns on a scale": [key(x) for k in range(8) for x in (k, k + 1, k, k - 1, k)],
    "tune by step and third": [key(k) for k in (4, 4, 5, 4, 2, 3, 4, 5, 4, 3, 2, 1, 2, 3, 1, 0, 2, 3, 4, 2, 1, 1, 0)],
}


@pytest.mark.parametrize("midi", SINGLES.values(), ids=SINGLES.keys())
def test_single_line_stays_whole(midi):
    """What moves by step is one line."""
    assert set(labels_of(midi)) == {"single"}


def test_line_splits_in_one_passage_only():
    """A scale passage, broken tenths, and scales again: only the middle passage is split, near its own borders."""
    scale = [key(k) for k in [*range(12), *range(10, -1, -1)]] * 2
    tenths = [key(x) for step in CURVE * 2 for x in (step, step - 9)]
    labels = labels_of(scale + tenths + scale)
    a, b = len(scale), len(scale) + len(tenths)
    assert set(labels[: a - 4]) == {"single"}
    assert set(labels[b + 4 :]) == {"single"}
    assert labels[a + 4 : b - 4] == ("upper", "lower") * ((len(tenths) - 8) // 2)


def test_three_lines():
    """Three lines far apart, sounding in turn, are upper, middle and lower."""
    midi = [x for step in CURVE * 4 for x in (key(step + 7), key(step - 4) - 5, key(step - 21))]
    labels = labels_of(midi)
    assert np.mean([a == b for a, b in zip(labels, ("upper", "middle", "lower") * len(CURVE * 4), strict=True)]) > 0.9


def test_decisions_are_kept_and_read_around():
    """Decided tones keep their line with certainty, and a decision turns the doubtful tones around it."""
    midi = [key(x) for step in CURVE for x in (step, step - 9)]
    decided = Decisions(voices={4: "lower", 7: "single", 9: "middle"})
    labels, sure = find_voices(line_of(midi), decided)
    assert (labels[4], labels[7], labels[9]) == ("lower", "single", "middle")
    assert sure[4] == sure[7] == sure[9] == 1.0
    scale = SINGLES["scale up and down"]
    around, _ = find_voices(line_of(scale), Decisions(voices={10: "upper", 12: "lower", 14: "upper"}))
    assert around[11] != "single"
    assert (around[10], around[12], around[14]) == ("upper", "lower", "upper")


tones = st.lists(
    st.tuples(st.integers(0, 127), st.sampled_from([0.0, 0.0, 0.125, 1 / 3, 0.5, 1.0, 64.0])), min_size=1, max_size=160
)


@settings(max_examples=60, deadline=None)
@given(tones, st.integers(-30, 30))
def test_any_line_is_read_and_transposing_changes_nothing(rows, by):
    """Reading is total, gives one label and one chance a tone, and moves exactly with the line."""
    lengths = [length for _, length in rows]
    labels, sure = find_voices(line_of([m for m, _ in rows], lengths))
    assert len(labels) == len(sure) == len(rows)
    assert set(labels) <= {"upper", "middle", "lower", "single"}
    assert all(0.0 <= x <= 1.0 for x in sure)
    assert find_voices(line_of([m + by for m, _ in rows], lengths)) == (labels, sure)


def test_upside_down_swaps_upper_and_lower():
    """A line turned upside down has the same lines, with upper and lower exchanged."""
    midi = [key(x) for step in CURVE for x in (step, step - 5, step - 4)]
    other = {"upper": "lower", "lower": "upper", "single": "single", "middle": "middle"}
    assert [other[x] for x in labels_of([120 - m for m in midi])] == list(labels_of(midi))


def test_long_line_reads_as_its_parts_do():
    """The seams between the pieces of a long line don't show."""
    midi = [key(x) for step in CURVE * 200 for x in (step, step - 9)]
    start = time.perf_counter()
    assert labels_of(midi) == ("upper", "lower") * (len(midi) // 2)
    assert time.perf_counter() - start < 20


def test_reasons_are_sentences_that_name_what_is_heard():
    midi = [key(x) for step in CURVE for x in (step, step - 9)]
    line = line_of(midi)
    labels, sure = find_voices(line)
    reasons = [why_voice(line, labels, sure, i) for i in range(len(midi))]
    assert reasons[0].startswith("Upper line: it begins here")
    assert "a step down from its last tone, E5, 2 tones back" in reasons[2]
    assert "the lower line's C4" in reasons[2]
    assert all(reason.endswith(".") and reason.count(".") == 1 for reason in reasons)
    with pytest.raises(IndexError, match="outside the line"):
        why_voice(line, labels, sure, len(midi))
