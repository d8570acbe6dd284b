"""Whose turn it is: from the player's place to the moments of the answer; and how an answer is judged in time."""

from __future__ import annotations

from dataclasses import dataclass, replace

import pytest

from earloop.capture.messages import Answer
from earloop.hearing.tones_sung import SungTone
from earloop.layers import build
from earloop.performing import Manner, perform
from earloop.reading import read
from earloop.session.judging import Asked, Judged, Measure, as_detail, judge
from earloop.session.turns import Task, Turns
from tests.made_lines import line_of

READING = read(line_of("D4 F#4 A4 G4 E4 D4"))
LAYER = build(READING, "ornamented", READING.line.whole, 0, True)
GAP = perform(READING, LAYER, Manner(answer_gap=True))
PACE = 60 / GAP.tempo
TASK = Task(READING, LAYER, GAP, 0)


@dataclass(frozen=True)
class Place:
    position: float
    at: float
    playing: bool = True
    tempo: float = 1.0
    pass_number: int = 1
    source: int | None = None
    output: str = ""
    notice: str = ""


def passes(turns: Turns, count: int, task: Task = TASK, tempo: float = 1.0, start: float = 100.0, step: float = 0.07):
    """Look on through so many passes as the screen does; the turns that ended."""
    found, length, at = [], task.performance.length, start
    while at < start + count * length * PACE / tempo:
        quarters = (at - start) * tempo / PACE
        done = turns.look(Place(quarters % length, at, tempo=tempo), task)
        if done is not None:
            found.append(done)
        at += step
    return found, at


def test_the_gap_is_the_singers() -> None:
    """6 quarters at 72 a minute sound, then 6 are silent: each turn begins when the gap does and lasts as long."""
    turns, half = Turns(), 6 * PACE
    found, at = passes(turns, 2)
    last = turns.look(Place(0.0, at, playing=False), TASK)
    assert [turn.begin for turn in (*found, last)] == pytest.approx([100 + half, 100 + 3 * half])
    assert [turn.end for turn in found] == pytest.approx([100 + 2 * half])
    assert last.end == pytest.approx(100 + 4 * half, abs=0.1)


def test_the_tempo_moves_the_turn() -> None:
    found, _ = passes(Turns(), 2, tempo=1.5)
    assert found[0].begin == pytest.approx(100 + 6 * PACE / 1.5)
    assert found[0].asked.pace == pytest.approx(PACE / 1.5)


def test_a_tempo_changed_in_a_turn_moves_only_its_end() -> None:
    turns = Turns()
    for k in range(90):
        turns.look(Place(k * 0.1, 100 + k * 0.1 * PACE), TASK)
    turn = turns.open
    turns.look(Place(9.0, 100 + 9.0 * PACE, tempo=2.0), TASK)
    assert turns.open.begin == pytest.approx(turn.begin)
    assert turns.open.end == pytest.approx(100 + 9.0 * PACE + 1.5 * PACE)


def test_along_with_the_sound_the_turn_is_the_sounding_part() -> None:
    found, _ = passes(Turns(along=True), 2)
    assert (found[0].begin, found[0].end) == pytest.approx((100, 100 + 6 * PACE))


def test_a_pass_whose_layer_changed_in_its_midst_is_not_judged() -> None:
    turns = Turns()
    other = replace(
        TASK, layer=build(READING, "skeleton"), performance=perform(READING, LAYER, Manner(answer_gap=True))
    )
    for k in range(40):
        assert turns.look(Place(k * 0.1, 100 + k * 0.1 * PACE), TASK) is None
    for k in range(40, 120):
        assert turns.look(Place(k * 0.1, 100 + k * 0.1 * PACE), other) is None
    assert turns.look(Place(0.1, 100 + 12.1 * PACE), other) is None
    found, _ = passes(turns, 2, other, start=100 + 12.2 * PACE)
    assert found
    assert found[0].asked.layer is other.layer


def test_a_turn_cut_short_counts_from_its_half_on() -> None:
    for share, counts in ((0.3, False), (0.8, True)):
        turns = Turns()
        for k in range(round((6 + 6 * share) * 10)):
            turns.look(Place(k * 0.1, 100 + k * 0.1 * PACE), TASK)
        done = turns.look(Place(0.0, 100 + (6 + 6 * share) * PACE, playing=False), TASK)
        assert (done is not None) == counts


def answer(onsets, lengths, keys=(62, 66, 69, 67, 64, 62), shift=0.1) -> Answer:
    tones = tuple(SungTone(o + shift, n, k) for o, n, k in zip(onsets, lengths, keys, strict=True))
    return Answer(1, 100.0, 110.0, tones)


ASKED = Asked(READING, LAYER, GAP, 1.0, 100.1, 0)
"""A quarter is a second, and the turn begins 0.1 s into the answer."""


def test_free_time_knows_no_metronome() -> None:
    """Half as fast as the player, in proportion: on time by one's own pace, far off the beat if that is asked."""
    slow = answer([0, 2, 4, 6, 8, 10], [1.8] * 6)
    free = judge(ASKED, slow, Measure())
    assert free.share == 1
    assert all(abs(free.late(k) or 0) < 5 for k in range(6))
    assert all(share == pytest.approx(0.9) for share in free.held)
    strict = judge(ASKED, slow, Measure(on_the_beat=True))
    assert [strict.late(k) for k in range(6)] == [0, 1000, 2000, 3000, 4000, 5000]
    assert "ms late" in strict.say


def on_the_beat(*late_ms: int) -> Judged:
    onsets = [k + late / 1000 for k, late in enumerate(late_ms)]
    return judge(ASKED, answer(onsets, [0.8] * 6), Measure(on_the_beat=True))


@pytest.mark.parametrize("lag", [-80, 120, 280])
def test_a_lag_of_all_tones_is_told_apart(lag: int) -> None:
    """A wireless headphone shifts all alike: no tone is late by it, in time or in one's own; a late one still is."""
    judged = on_the_beat(*(lag + off for off in (0, 10, -15, 5, 0, -10)))
    assert judged.lag == pytest.approx(lag, abs=5)
    assert all(abs(judged.late(k) or 0) <= 20 for k in range(6))
    assert f"about {abs(lag)} ms {'late' if lag > 0 else 'early'}: the device or you" in judged.say
    assert as_detail(judged)["lag_ms"] == judged.lag
    free = judge(ASKED, judged.answer, Measure())
    assert free.lag == 0
    assert all(abs(free.late(k) or 0) <= 40 for k in range(6))
    one = on_the_beat(lag, lag, lag, lag + 200, lag, lag)
    assert (one.lag, one.late(3)) == (lag, 200)
    assert "tone 4" in one.say
    assert "200 ms late" in one.say


@pytest.mark.parametrize(
    "late", [(0, 0, 250, 0, 0, 300), (0, 80, 160, 240, 320, 400), (20, -10, 5, 0, 15, 10), (0, 150, -150, 140, 0, -120)]
)
def test_single_late_tones_another_pace_and_a_free_hand_are_no_lag(late: tuple[int, ...]) -> None:
    judged = on_the_beat(*late)
    assert judged.lag == 0
    assert [judged.late(k) for k in range(6)] == list(late)


def test_a_lag_beyond_any_device_is_the_players() -> None:
    assert "come in with the beat" in on_the_beat(*(600,) * 6).say
    assert on_the_beat(*(1700,) * 6).lag == 0


def test_a_tone_let_go_early_is_told() -> None:
    judged = judge(ASKED, answer([0, 1, 2, 3, 4, 5], [0.9, 0.9, 0.3, 0.9, 0.9, 0.9]), Measure())
    assert [judged.short(k) for k in range(6)] == [False, False, True, False, False, False]
    assert "tone 3" in judged.say
    assert "let go early" in judged.say


def test_a_tone_that_the_turns_end_cut_off_was_not_let_go() -> None:
    """As where a wireless link brings all tones 0.3 s late: the last one's length isn't known."""
    late = answer([0, 1, 2, 3, 4, 5], [0.9, 0.9, 0.9, 0.9, 0.9, 0.5], shift=0.4)
    assert judge(ASKED, late, Measure()).held[5] == pytest.approx(0.5, abs=0.02)
    cut = judge(ASKED, replace(late, end=late.begin + 5.9), Measure())
    assert cut.held[5] is None
    assert not any(cut.short(k) for k in range(6))
    assert "let go" not in cut.say


def test_an_answer_pushed_out_of_the_gap_is_told() -> None:
    late = answer([0.7, 1.7, 2.7, 3.7, 4.7], [0.9] * 5, (62, 66, 69, 67, 64))
    judged = judge(ASKED, late, Measure())
    assert "You began 0.7 s late" in judged.say
    missing = judge(ASKED, answer([0, 1, 2, 3, 4], [0.9] * 5, (62, 66, 69, 67, 64)), Measure())
    assert "began" not in missing.say


def test_a_reference_of_the_players_is_taken_off() -> None:
    """A player tuned to A4 = 415 Hz sounds 101 cents low (1200 log2(415/440)): so does the singer who follows it."""
    low = answer([0, 1, 2, 3, 4, 5], [0.9] * 6, tuple(k - 1.0128 for k in (62, 66, 69, 67, 64, 62)))
    assert judge(ASKED, low, Measure()).share < 0.5
    assert judge(ASKED, low, Measure(), reference=-1.0128).share == 1
    assert judge(ASKED, low, Measure(relative=True)).share == 1


def test_what_the_journal_is_told() -> None:
    judged = judge(ASKED, answer([0, 1, 2, 3, 4, 5], [0.9] * 6, (62, 65, 69, 67, 64, 62)), Measure())
    detail = as_detail(judged)
    assert judged.share == pytest.approx(5 / 6)
    assert detail["degrees"]["1"] == [2, 2]
    assert detail["degrees"]["3"] == [0, 1]
    assert [tone["verdict"] for tone in detail["tones"]] == ["right", "wrong", "right", "right", "right", "right"]
