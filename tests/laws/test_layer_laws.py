"""Law 2: every layer's tones come from the line; upper and lower restore the structural tones, or name the shared."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.layers import NAMES, build, shared
from earloop.line import Line
from earloop.performing import Manner, perform
from earloop.reading import DEEPEST, Decisions, read
from tests.made_lines import lines

VOICES = st.sampled_from(("upper", "middle", "lower", "single"))


@st.composite
def read_lines(draw: st.DrawFn):
    line: Line = draw(lines(40))
    voices = {i: draw(VOICES) for i in range(len(line))} if draw(st.booleans()) else {}
    return read(line, Decisions(voices=voices))


@given(read_lines(), st.sampled_from(NAMES), st.integers(0, DEEPEST), st.booleans())
def test_every_tone_of_a_layer_is_a_tone_of_the_line(reading, name, depth, true_time) -> None:
    layer = build(reading, name, None, depth, true_time)
    for tone in layer.tones:
        assert tone.pitch == reading.line[tone.source].pitch
        assert tone.voice == reading.voices[tone.source]
        assert tone.length >= 0
        assert tone.onset >= -1e-9


@given(read_lines(), st.integers(0, DEEPEST))
def test_upper_and_lower_together_are_the_structural_tones(reading, depth) -> None:
    span = reading.line.whole
    upper, lower, both = (
        {tone.source for tone in build(reading, name, span, depth).tones} for name in ("upper", "lower", "interleaved")
    )
    assert upper | lower == both == set(reading.skeleton(depth))
    assert upper & lower == set(shared(reading, span, depth))


@given(read_lines())
def test_the_ornamented_layer_is_the_page(reading) -> None:
    page = build(reading, "ornamented").tones
    assert [(t.source, t.pitch) for t in page] == [(i, t.pitch) for i, t in enumerate(reading.line.tones)]


@given(
    read_lines(), st.sampled_from(NAMES), st.booleans(), st.sampled_from(("off", "tonic", "fifth")), st.integers(0, 4)
)
def test_what_is_performed_lies_inside_its_pass(reading, name, gap, drone, count) -> None:
    layer = build(reading, name)
    performance = perform(reading, layer, Manner(drone, count, gap))
    assert [e.onset for e in performance.events] == sorted(e.onset for e in performance.events)
    for event in performance.events:
        assert 0 <= event.onset <= event.onset + event.length <= performance.length + 1e-6
        assert 0 < event.loudness <= 1
    sounding = sum(event.strand not in ("drone", "count") for event in performance.events)
    assert sounding == len(layer.tones)


@pytest.mark.parametrize("name", NAMES)
def test_a_span_alone_gives_the_same_tones_as_the_whole_cut_down(name) -> None:
    from tests.made_lines import line_of

    reading = read(line_of("C4 D4 E4 F4 G4 A4 G4 F4 E4 D4 C4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2"))
    for span in reading.phrases:
        whole = {t.source for t in build(reading, name).tones if t.source in span}
        assert {t.source for t in build(reading, name, span).tones} == whole
