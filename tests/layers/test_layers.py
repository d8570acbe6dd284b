"""The layers on lines small enough to check by hand."""

from __future__ import annotations

from dataclasses import replace

from earloop.layers import build
from earloop.line import Span
from earloop.reading import Decisions, read
from earloop.reading.record import Bridge
from tests.made_lines import line_of

TWO_LINES = line_of("C4 C5 D4 B4 E4 A4", 1.0)
VOICES = dict(enumerate(("lower", "upper") * 3))
LEVELS = dict.fromkeys(range(6), 5)


def two_lines(bridges: tuple[Bridge, ...] = ()):
    reading = read(TWO_LINES, Decisions(voices=VOICES, levels=LEVELS))
    return replace(reading, phrases=(Span(0, 5),), bridges=bridges)


def heard(layer) -> list[tuple[float, float, str, str]]:
    return [(tone.onset, tone.length, tone.pitch.name, tone.role) for tone in layer.tones]


def test_a_line_alone_keeps_its_rests_in_true_time() -> None:
    layer = build(two_lines(), "lower")
    assert [(onset, name) for onset, _, name, _ in heard(layer)] == [(0.0, "C4"), (2.0, "D4"), (4.0, "E4")]
    assert [length for _, length, _, _ in heard(layer)] == [1.0, 1.0, 1.0]
    assert layer.length == 6.0


def test_a_line_alone_closes_up() -> None:
    layer = build(two_lines(), "upper", true_time=False)
    assert [(onset, name) for onset, _, name, _ in heard(layer)] == [(0.0, "C5"), (1.0, "B4"), (2.0, "A4")]
    assert layer.length == 3.0


def test_a_dropped_ornament_gives_its_time_to_the_tone_before_it() -> None:
    line = line_of("C4 D4 C4 E4", "1 .5 .5 2")
    reading = read(line, Decisions(levels={0: 5, 1: 0, 2: 0, 3: 5}))
    reading = replace(reading, phrases=(Span(0, 3),))
    assert heard(build(reading, "skeleton", depth=3)) == [(0.0, 2.0, "C4", "page"), (2.0, 2.0, "E4", "page")]


def test_a_held_tone_sounds_until_the_next_structural_tone() -> None:
    line = line_of("C4 D4 C4 E4", "1 .5 .5 2")
    reading = read(line, Decisions(levels={0: 5, 1: 0, 2: 0, 3: 5}))
    layer = build(replace(reading, phrases=(Span(0, 3),)), "held", depth=3)
    assert [row for row in heard(layer) if row[3] == "held"] == [(0.0, 2.0, "C4", "held")]
    assert len(layer.tones) == 5


def test_a_bridge_sounds_the_lines_last_tone_again_and_takes_half_the_tone_before() -> None:
    layer = build(two_lines((Bridge(0, 2),)), "bridged")
    rows = heard(layer)
    assert (1.5, 0.5, "C4", "bridge") in rows
    assert (1.0, 0.5, "C5", "page") in rows
    assert layer.length == 6.0


def test_closed_up_a_bridge_has_time_of_its_own() -> None:
    layer = build(two_lines((Bridge(0, 2),)), "bridged", true_time=False)
    assert (2.0, 1.0, "C4", "bridge") in heard(layer)
    assert layer.length == 7.0


def test_two_lines_in_turns_sound_whole_each_by_itself() -> None:
    """A compound melody's lines move by step when heard alone (Bregman 1990): no step of theirs is left out, though one
    of the lines comes between the beats all the while."""
    woven = line_of("D4 B5 E4 A5 F4 G5 G4 F5 A4 E5 G4 F5 F4 G5 E4 A5", 0.5)
    reading = read(woven)
    assert set(reading.voices) == {"upper", "lower"}
    for name, tones in (("lower", range(0, 16, 2)), ("upper", range(1, 16, 2))):
        assert [tone.source for tone in build(reading, name).tones] == list(tones)
