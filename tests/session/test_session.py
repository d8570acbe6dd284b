"""The session's commands: what loops, what sounds, what is decided."""

from __future__ import annotations

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.layers import NAMES
from earloop.line import Span
from earloop.reading import Decisions, Key, read
from earloop.reading.record import Degree
from earloop.session.desk import Desk
from earloop.session.naming import degree_name
from earloop.session.session import FRAME, Session
from tests.made_lines import line_of, lines
from tests.session.fake_player import FakePlayer

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2")


def session(decided: Decisions | None = None) -> Session:
    return Session(LINE, FakePlayer(), decided=decided or Decisions(phrase_ends={5: True}))


def test_a_phrase_loops_and_the_next_one_after_it() -> None:
    one = session(Decisions(phrase_ends={5: True, **{i: False for i in range(11) if i != 5}}))
    assert one.span == Span(0, 5)
    one.next_phrase()
    assert one.span == Span(6, 11)
    one.next_phrase()
    assert one.span == Span(6, 11)
    one.previous_phrase()
    assert one.span == Span(0, 5)


def test_two_marked_tones_loop() -> None:
    one = session()
    one.point_at(2)
    one.mark()
    one.point_at(8)
    one.mark()
    assert one.span == Span(2, 8)
    assert one.choices.loop == "marks"


@pytest.mark.parametrize("name", NAMES)
def test_every_layer_can_be_chosen_and_reaches_the_player(name) -> None:
    one = session()
    one.choose_layer(name)
    assert one.player.performance.title.endswith(name)
    assert one.player.asked[-1] == ("load", ("seam", True))


def test_a_layer_switches_at_once_when_asked() -> None:
    one = session()
    one.turn_switching()
    one.choose_layer("upper")
    assert one.player.asked[-1] == ("load", ("now", True))


def test_the_tempo_stays_between_ten_and_three_hundred_percent() -> None:
    one = session()
    one.set_tempo(5)
    assert one.player.asked[-1] == ("tempo", (0.1,))
    one.set_tempo(999)
    assert one.player.asked[-1] == ("tempo", (3.0,))


def test_in_the_answer_gap_the_place_is_where_the_singer_should_be() -> None:
    one = session()
    one.choose_layer("ornamented")
    one.turn_answer_gap()
    one.player.position = one.performance.answer_from + 0.01
    place = one.position()
    assert place.answering
    assert place.tone == one.span.first


def test_a_correction_is_heard_at_the_next_pass() -> None:
    one = session()
    before = len(one.layer.tones)
    dropped = one.layer.tones[0].source
    for _ in range(6):
        one.desk.lower_tone(dropped)
    one.decided()
    assert dropped not in {tone.source for tone in one.layer.tones}
    assert before
    assert one.player.asked[-1] == ("load", ("seam", True))


def test_in_a_long_loop_a_correction_is_shown_first_and_heard_after() -> None:
    """The sound of a whole movement is made, once, when news is asked for after the frame; the decision is in it."""
    line = line_of("C4 D4 E4 F4 G4 A4 B4 C5 " * 50, 0.5)
    one = Session(line, FakePlayer(), reads_later=True)
    one.choose_loop("whole")
    one.choose_layer("bridged")
    one.player.asked.clear()
    one.desk.turn_bridge(20)
    one.decided()
    assert one.desk.settled
    assert not one.player.asked
    time.sleep(FRAME)
    assert one.news()
    assert one.player.asked == [("load", ("seam", True))]
    assert any(event.strand == "bridge" for event in one.player.performance.events)
    assert not one.news()


def test_the_proposal_can_always_be_gone_back_to() -> None:
    desk = Desk(LINE)
    desk.give_to(3, "lower")
    desk.raise_tone(3)
    assert desk.decided_about(3) == ("weight", "line")
    desk.back_to_proposal(3)
    assert not desk.decided
    assert desk.reading == desk.proposal


ACTS = st.sampled_from(
    ("raise_tone", "lower_tone", "turn_phrase_end", "turn_gesture_end", "turn_lean", "turn_bridge", "back_to_proposal")
)


@given(lines(20), st.lists(st.tuples(ACTS, st.integers(0, 19)), max_size=8))
def test_undo_restores_the_very_same_reading(line, acts) -> None:
    """Law 6, over any sequence of acts."""
    desk = Desk(line)
    readings = [desk.reading]
    for name, index in acts:
        before = desk.decided
        getattr(desk, name)(index % len(line))
        if desk.decided != before:
            readings.append(desk.reading)
    for reading in reversed(readings[:-1]):
        assert desk.undo()
        assert desk.reading == reading
    assert not desk.undo()
    for reading in readings[1:]:
        assert desk.redo()
        assert desk.reading == reading


def test_degree_names_in_both_schools_of_minor() -> None:
    """Movable do: in do-based minor 3 is me, in la-based minor 1 is la (common practice, no source)."""
    reading = read(line_of("A4 B4 C5 D5 E5 G#5 A5"), Decisions(home=Key(3, "minor")))
    pitches = [tone.pitch for tone in reading.line.tones]

    def sung(names):
        return [degree_name(d, p, "minor", names) for d, p in zip(reading.degrees, pitches, strict=True)]

    assert sung("do") == ["do", "re", "me", "fa", "sol", "ti", "do"]
    assert sung("la") == ["la", "ti", "do", "re", "mi", "si", "la"]
    assert sung("numbers") == ["1", "2", "3", "4", "5", "#7", "1"]
    assert sung("notes") == ["A", "B", "C", "D", "E", "G#", "A"]


def test_chromatic_syllables_raise_to_i_and_lower_to_e() -> None:
    """Common practice, no source."""
    pitch = LINE[0].pitch
    raised = [degree_name(Degree(n, 1), pitch, "major", "do") for n in (1, 2, 4, 5, 6)]
    lowered = [degree_name(Degree(n, -1), pitch, "major", "do") for n in (2, 3, 5, 6, 7)]
    assert raised == ["di", "ri", "fi", "si", "li"]
    assert lowered == ["ra", "me", "se", "le", "te"]
