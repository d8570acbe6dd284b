"""Takes of the phrase library with planted faults, through a file and back."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from earloop.hearing.compare import Comparison, compare
from earloop.hearing.next_step import next_step
from earloop.hearing.pitch_track import WINDOW, pitch_track
from earloop.hearing.tones_sung import SungTone, tones_sung
from earloop.reading import Reading, read
from earloop.scores import load_line
from tests.hearing import takes

SCORE = Path(__file__).parents[2] / "phrases" / "02-two-steps-to-the-spring.abc"


@cache
def reading() -> Reading:
    return read(load_line(SCORE))


LAYER = takes.layer_of(reading(), "ornamented")
RIGHT = takes.events_of(reading(), LAYER)


def heard(sound: takes.Floats, relative: bool = False) -> Comparison:
    return compare(reading(), LAYER, tones_sung(pitch_track(sound)), relative=relative)


def flagged(comparison: Comparison) -> list[int]:
    return [tone.index for tone in comparison.tones if tone.verdict != "right"]


@pytest.mark.parametrize("noise", [None, 20.0])
@pytest.mark.parametrize("voice", ["synth", "vowel"])
def test_a_right_take_is_right_throughout(voice: str, noise: float | None, tmp_path: Path) -> None:
    sound = takes.rendered(reading(), LAYER, RIGHT, tmp_path / "t.wav") if voice == "synth" else takes.sung(RIGHT)
    told = heard(sound if noise is None else takes.noisy(sound, noise))
    assert [tone.index for tone in told.tones] == list(range(len(LAYER.tones)))
    assert [tone.degree for tone in told.tones] == [str(reading().degrees[t.source]) for t in LAYER.tones]
    assert flagged(told) == []
    assert "right" in next_step(reading(), LAYER, told)


@pytest.mark.parametrize("at", [2, 5])
def test_a_wrong_degree_is_named(at: int, tmp_path: Path) -> None:
    events = takes.wrong_degree(RIGHT, at, 6)
    told = heard(takes.rendered(reading(), LAYER, events, tmp_path / "t.wav"))
    assert flagged(told) == [at]
    tone = told.tones[at]
    key, degrees = reading().home.key, {1: 0, 2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 11}
    assert tone.verdict == "wrong"
    assert tone.sung_degree is not None
    alter = tone.sung_degree.count("#") - tone.sung_degree.count("b")
    assert key.mode == "major"
    assert (key.pc + degrees[int(tone.sung_degree[-1])] + alter - events[at].midi) % 12 == 0
    assert tone.sung_degree in next_step(reading(), LAYER, told)


@pytest.mark.parametrize("cents", [60.0, -60.0])
def test_sixty_cents_off_is_wrong_by_its_cents(cents: float, tmp_path: Path) -> None:
    told = heard(takes.rendered(reading(), LAYER, takes.cents_off(RIGHT, 4, cents), tmp_path / "t.wav"))
    assert flagged(told) == [4]
    assert told.tones[4].sung_degree == told.tones[4].degree
    assert told.tones[4].cents == pytest.approx(cents, abs=5)


def test_swapped_tones_are_flagged(tmp_path: Path) -> None:
    told = heard(takes.rendered(reading(), LAYER, takes.swapped(RIGHT, 2), tmp_path / "t.wav"))
    assert set(flagged(told)) & {2, 3}
    assert set(flagged(told)) <= {2, 3}


def test_a_missed_tone_is_missed_and_the_rest_stay_right(tmp_path: Path) -> None:
    told = heard(takes.rendered(reading(), LAYER, takes.missed(RIGHT, 3), tmp_path / "t.wav"))
    assert [(tone.index, tone.verdict) for tone in told.tones if tone.verdict != "right"] == [(3, "missed")]
    assert told.tones[3].cents is None


@pytest.mark.parametrize("tempo", [0.6, 1.3])
def test_another_octave_and_tempo_are_right(tempo: float, tmp_path: Path) -> None:
    lower = [takes.replace(event, midi=event.midi - 12) for event in RIGHT]
    assert flagged(heard(takes.rendered(reading(), LAYER, lower, tmp_path / "t.wav", tempo))) == []


def test_a_voices_own_reference_pitch_is_found_in_relative_mode(tmp_path: Path) -> None:
    moved = [takes.replace(event, midi=event.midi - 3, cents=40.0) for event in RIGHT]
    sound = takes.rendered(reading(), LAYER, moved, tmp_path / "t.wav")
    assert len(flagged(heard(sound))) > len(RIGHT) / 2
    told = heard(sound, relative=True)
    assert flagged(told) == []
    assert told.offset == pytest.approx(-260, abs=5)


def sung_exactly(cents_each: takes.Floats) -> tuple[SungTone, ...]:
    return tuple(
        SungTone(event.onset, event.length, event.midi + c / 100) for event, c in zip(RIGHT, cents_each, strict=True)
    )


def test_drift_is_told_apart_from_single_errors() -> None:
    when = np.array([event.onset for event in RIGHT])
    drift = -80 * (when - when[0]) / (when[-1] - when[0])
    told = compare(reading(), LAYER, sung_exactly(drift))
    assert told.drift == pytest.approx(-80, abs=3)
    assert flagged(told) == []
    assert "drone" in next_step(reading(), LAYER, told)
    drift[4] += 70
    assert flagged(compare(reading(), LAYER, sung_exactly(drift))) == [4]


@pytest.mark.parametrize(
    "name", ["06-rain-on-the-barn-roof.abc", "07-two-rooks.musicxml", "13-fog-on-the-salt-pans.abc"]
)
@pytest.mark.parametrize("tempo", [0.7, 1.2])
def test_a_take_in_the_players_own_proportions_has_no_late_tone(name: str, tempo: float, tmp_path: Path) -> None:
    """The player's fermatas and breaths are the proportion; an onset is heard to within the pitch track's WINDOW."""
    score = read(load_line(SCORE.with_name(name)))
    layer = takes.layer_of(score, "ornamented")
    sound = takes.rendered(score, layer, takes.events_of(score, layer), tmp_path / "t.wav", tempo)
    told = compare(score, layer, tones_sung(pitch_track(sound)))
    assert max(abs(tone.late_ms) for tone in told.tones if tone.late_ms is not None) <= 1000 * WINDOW


def in_breaths(pauses: list[float], late: int | None = None) -> list[int]:
    """How late each tone is told, where each breath took so many seconds more than the player takes; one tone late."""
    breath = [reading().phrase_of(tone.source) for tone in LAYER.tones]
    sung = [
        SungTone(
            event.onset + sum(pauses[: breath[k]]) + 0.2 * (k == late), event.length - 0.2 * (k == late), event.midi
        )
        for k, event in enumerate(RIGHT)
    ]
    told = compare(reading(), LAYER, tuple(sung))
    assert flagged(told) == []
    return [tone.late_ms or 0 for tone in told.tones]


def test_a_breath_may_take_its_time_and_a_late_tone_is_late_all_the_same() -> None:
    """That a singer's breath between phrases is no error of time: common practice, no source."""
    assert len(reading().phrases) > 1
    for pauses in ([0.9] * 9, [-0.2, 0.6] * 5):
        assert max(map(abs, in_breaths(pauses))) < 60
        late = in_breaths(pauses, 2)
        assert late[2] == pytest.approx(200, abs=60)
        assert max(abs(ms) for k, ms in enumerate(late) if k != 2) < 100


def test_a_late_tone_and_an_extra_one() -> None:
    tones = list(sung_exactly(np.zeros(len(RIGHT))))
    before = compare(reading(), LAYER, tuple(tones)).tones[4].late_ms
    assert before is not None
    tones[4] = SungTone(tones[4].onset + 0.2, tones[4].length - 0.2, tones[4].midi)
    told = compare(reading(), LAYER, tuple(tones))
    assert told.tones[4].late_ms == pytest.approx(before + 200, abs=20)
    last = tones[-1]
    told = compare(reading(), LAYER, (*tones, SungTone(last.onset + last.length + 0.5, 0.5, last.midi + 6)))
    assert len(told.extra) == 1
    assert flagged(told) == []


def test_nothing_sung_is_missed_throughout() -> None:
    told = heard(np.zeros(16000))
    assert {tone.verdict for tone in told.tones} == {"missed"}
    assert "none" in next_step(reading(), LAYER, told)


@pytest.mark.parametrize("seed", range(8))
def test_a_slow_drift_makes_no_late_tone_wrong_and_one_wrong_tone_makes_no_drift(seed: int) -> None:
    """The stated rule: only what goes with time beyond chance is drift (Mann 1945; Theil 1950, Sen 1968)."""
    rng = np.random.default_rng(seed)
    spread = np.clip(rng.normal(0, 8, len(RIGHT)), -15, 15)
    when = np.array([event.onset for event in RIGHT])
    told = compare(reading(), LAYER, sung_exactly(spread + 60 * (when - when[0]) / (when[-1] - when[0])))
    assert flagged(told) == []
    assert told.drift == pytest.approx(60, abs=25)
    spread[-1] = 60.0
    assert flagged(compare(reading(), LAYER, sung_exactly(spread))) == [len(RIGHT) - 1]


def test_an_answer_that_began_too_soon_is_told_so_and_a_first_tone_has_nothing_before_it(tmp_path: Path) -> None:
    """That one who begins while the line still sounds loses the beginning: common practice, no source."""
    late = heard(takes.rendered(reading(), LAYER, RIGHT[4:], tmp_path / "t.wav"))
    assert [tone.verdict for tone in late.tones[:4]] == ["missed"] * 4
    assert "first 4 tones" in next_step(reading(), LAYER, late)
    wrong = heard(takes.rendered(reading(), LAYER, takes.wrong_degree(RIGHT, 0, 3), tmp_path / "t.wav"))
    assert flagged(wrong) == [0]
    assert "play up to it" not in next_step(reading(), LAYER, wrong)
