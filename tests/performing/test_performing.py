"""Loudness, time, drone and gaps of a performance."""

from __future__ import annotations

from dataclasses import replace

import pytest

from earloop.layers import build
from earloop.line import Line, Marks, Meter, Tone
from earloop.line.pitch import pitch_from_name
from earloop.performing import Manner, perform
from earloop.reading import Decisions, read
from earloop.reading.record import Lean
from tests.made_lines import line_of


def with_marks(line: Line, index: int, marks: Marks) -> Line:
    tones = list(line.tones)
    tones[index] = replace(tones[index], marks=marks)
    return replace(line, tones=tuple(tones))


PLAIN = Manner()


def page(line: Line, manner: Manner = PLAIN):
    reading = read(line)
    return perform(reading, build(reading, "ornamented"), manner)


def test_a_lean_is_louder_than_its_release() -> None:
    """Quantz 1752 and C. P. E. Bach 1753: the appoggiatura is played louder than its resolution."""
    reading = read(line_of("C4 D4 C4 E4 D4 C4", "1 2 1 1 2 1"))
    reading = replace(reading, leans=(Lean(4, 5, "2-1", 1.0, 1.0),))
    events = perform(reading, build(reading, "ornamented")).events
    assert events[4].loudness > events[5].loudness + 0.1


def test_dynamics_order_as_their_names_say() -> None:
    """pp < p < mp < mf < f < ff: common practice, no source."""
    heard = []
    for sign in ("pp", "p", "mp", "mf", "f", "ff"):
        heard.append(page(with_marks(line_of("C4 D4 E4"), 0, Marks(dynamic=sign))).events[0].loudness)
    assert heard == sorted(heard)
    assert len(set(heard)) == len(heard)


def test_a_hairpin_grows_and_fades() -> None:
    line = with_marks(line_of("C4 C4 C4 C4 C4"), 0, Marks(hairpin="crescendo", dynamic="p"))
    line = with_marks(line, 4, Marks(hairpin="stop", dynamic="f"))
    loud = [event.loudness for event in page(line).events]
    assert loud[0] < loud[2] < loud[4]


def test_a_fermata_holds_and_a_breath_waits_in_proportion() -> None:
    plain = page(line_of("C4 D4 E4 F4"))
    held = page(with_marks(line_of("C4 D4 E4 F4"), 1, Marks(fermata=True, break_after="breath")))
    second, third = held.events[1], held.events[2]
    assert second.length > plain.events[1].length * 1.5
    assert third.onset > second.onset + second.length + 0.1
    strict = page(with_marks(line_of("C4 D4 E4 F4"), 1, Marks(fermata=True)), Manner(breathing=False))
    assert [e.onset for e in strict.events] == [0.0, 1.0, 2.0, 3.0]


def test_grace_notes_take_time_from_the_tone_they_lean_on() -> None:
    events = page(line_of("C4 D4 E4 F4", "1 0 0 1")).events
    assert all(event.length > 0 for event in events)
    assert [event.onset for event in events] == sorted({event.onset for event in events})
    assert events[-1].onset + events[-1].length == pytest.approx(2.0)


@pytest.mark.parametrize("layer", ["held", "interleaved", "ornamented", "skeleton"])
def test_grace_notes_at_the_very_end_have_their_time_inside_the_pass(layer) -> None:
    reading = read(line_of("C4 D4 E4 F4 G4", "1 1 1 0 0"))
    performance = perform(reading, build(reading, layer), PLAIN)
    assert max(event.onset + event.length for event in performance.events) <= performance.length + 1e-9


def test_the_drone_is_the_tonic_below_the_line_with_its_fifth() -> None:
    reading = read(line_of("D4 E4 F#4 G4 A4 D4"), Decisions())
    events = perform(reading, build(reading, "ornamented"), Manner("fifth")).events
    drone = [event for event in events if event.strand == "drone"]
    assert [event.midi % 12 for event in drone] == [reading.home.key.pc, (reading.home.key.pc + 7) % 12]
    assert drone[0].midi <= min(event.midi for event in events if event.source is not None)
    assert drone[0].length == pytest.approx(6.0)


def test_the_answer_gap_is_as_long_as_what_was_heard() -> None:
    plain, asked = page(line_of("C4 D4 E4")), page(line_of("C4 D4 E4"), Manner(answer_gap=True))
    assert asked.length == 2 * plain.length
    assert asked.answer_from == plain.length


def test_the_count_in_counts_the_meters_beats() -> None:
    tones = tuple(Tone(i * 0.5, 0.5, pitch_from_name("G4")) for i in range(6))
    reading = read(Line(tones, meters=((0.0, Meter(6, 8)),)))
    performance = perform(reading, build(reading, "ornamented"), Manner(count_in=2))
    assert [event.onset for event in performance.count_in] == [0.0, 1.5]
    assert performance.lead_in == 3.0


def test_the_place_on_the_page_follows_the_performed_time() -> None:
    performance = page(with_marks(line_of("C4 D4 E4 F4"), 1, Marks(fermata=True)))
    performed, written = zip(*performance.position_map, strict=True)
    assert list(performed) == sorted(performed)
    assert written[:4] == (0.0, 1.0, 2.0, 3.0)
