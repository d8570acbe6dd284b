"""Laws of the plan: it fits the time, keeps the order, is slower where it went badly, and gives way to the player."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.coaching.lengths import pass_seconds
from earloop.coaching.plan import LONGEST, MOST_PASSES, REST_AFTER, WAYS, Plan, Step, as_object, from_object
from earloop.coaching.proposing import propose, why_it_ends
from earloop.coaching.standing import Standing, standings
from earloop.journal import Happening
from earloop.layers import NAMES, build
from earloop.performing import Manner, perform
from earloop.reading import Decisions, read
from tests.made_lines import line_of, lines

lengths = st.dictionaries(st.sampled_from(NAMES), st.floats(0.5, 120), max_size=7)
known = st.dictionaries(
    st.sampled_from(NAMES),
    st.builds(Standing, st.integers(0, 200), st.none() | st.floats(0, 1), st.none() | st.integers(10, 300)),
    max_size=7,
)
minutes = st.integers(1, LONGEST)
steps = st.builds(
    Step, st.sampled_from(NAMES), st.sampled_from(WAYS), st.integers(1, 50), st.integers(10, 300), st.floats(0.5, 200)
)
plans = st.builds(Plan, st.integers(0, 9), minutes, st.lists(steps, max_size=12).map(tuple), st.text(max_size=5))


@given(lengths, known, minutes)
def test_a_proposal_fits_the_time_and_keeps_the_order(lengths, known, minutes) -> None:
    """No longer than asked for, unless it is one layer's least; layers and ways in order; only layers there are."""
    plan = propose(0, lengths, known, minutes)
    places = [(NAMES.index(step.layer), WAYS.index(step.way)) for step in plan.steps]
    assert places == sorted(set(places))
    assert {step.layer for step in plan.steps} <= set(lengths)
    assert bool(plan.steps) == bool(lengths)
    least = len({step.layer for step in plan.steps}) == 1 and all(step.passes == 1 for step in plan.steps)
    assert plan.seconds <= 60 * minutes + 1e-6 or least
    assert all(1 <= step.passes <= 8 and 10 <= step.tempo <= 300 for step in plan.steps)
    assert all(any(s.layer == step.layer and s.answered for s in plan.steps) for step in plan.steps)


@given(lengths.filter(bool), known, minutes)
def test_the_time_is_filled_or_it_is_said_why_not(lengths, known, minutes) -> None:
    """What is left is less than a minute, than a pass more of a step, or than the least of a layer not taken in."""
    plan = propose(0, lengths, known, minutes)
    left = 60 * minutes - plan.seconds
    grows = [replace(step, passes=step.passes + 1) for step in plan.steps if step.answered and step.passes < 8]
    if any(longer.seconds - step.seconds <= left for longer in grows for step in plan.steps if same_step(step, longer)):
        pytest.fail("a step could be longer")
    assert left < 60 or grows or "left for another phrase" in why_it_ends(plan)
    if why_it_ends(plan):
        assert f" {int(left // 60)} minute" in why_it_ends(plan)


def same_step(one: Step, other: Step) -> bool:
    return (one.layer, one.way) == (other.layer, other.way)


def test_a_plan_cut_short_by_hand_gives_no_reason() -> None:
    """What the player takes out, the player knows of."""
    plan = propose(0, {"ornamented": 5.0}, {}, 50)
    assert why_it_ends(plan)
    assert not why_it_ends(plan.without(0).without(0).without(0))
    assert not why_it_ends(plan.with_passes(1, 3))


@given(lengths, known, minutes)
def test_what_is_not_sure_comes_before_a_reminder(lengths, known, minutes) -> None:
    """The first unsure layer is always there, and more time never takes an unsure layer away."""
    unsure = [name for name in NAMES if name in lengths and known.get(name, Standing()).grip != "sure"]

    def chosen(time: int) -> list[str]:
        inside = {step.layer for step in propose(0, lengths, known, time).steps}
        return [name for name in unsure if name in inside]

    now = chosen(minutes)
    assert now == unsure[: len(now)]
    assert not unsure or now
    assert set(now) <= set(chosen(min(LONGEST, minutes + 10)))


@given(st.integers(10, 300), st.floats(0, 1), st.floats(0, 1))
def test_a_worse_result_never_goes_faster(tempo, one, other) -> None:
    """From the same last tempo."""
    worse, better = sorted((one, other))

    def made(share: float) -> Plan:
        return propose(0, {"upper": 600.0}, {"upper": Standing(5, share, tempo)}, LONGEST)

    assert made(worse).steps[0].tempo <= made(better).steps[0].tempo


@given(plans)
def test_nobody_works_longer_than_the_rest_allows(plan) -> None:
    """Between rests at most REST_AFTER minutes, or one single step."""
    cuts = [0, *plan.rests(), len(plan.steps)]
    for first, last in itertools.pairwise(cuts):
        spell = plan.steps[first:last]
        assert sum(step.seconds for step in spell) <= 60 * REST_AFTER + 1e-6 or len(spell) == 1
    assert 0 not in plan.rests()


@given(plans, st.data())
def test_every_change_touches_its_step_only(plan, data) -> None:
    if not plan.steps:
        return
    place = data.draw(st.integers(0, len(plan.steps) - 1))
    number = data.draw(st.integers(-500, 500))
    others = [step for k, step in enumerate(plan.steps) if k != place]
    for changed in (plan.with_passes(place, number), plan.with_tempo(place, number), plan.with_way(place, "sing")):
        assert [step for k, step in enumerate(changed.steps) if k != place] == others
        assert 1 <= changed.steps[place].passes <= MOST_PASSES
        assert 10 <= changed.steps[place].tempo <= 300
    moved = plan.moved(place, number)
    where = max(0, min(len(plan.steps) - 1, number))
    assert moved.steps[where] == plan.steps[place]
    assert [step for k, step in enumerate(moved.steps) if k != where] == others
    assert moved.moved(where, place) == plan
    assert list(plan.without(place).steps) == others


@given(plans)
def test_a_plan_survives_writing(plan) -> None:
    assert from_object(json.loads(json.dumps(as_object(plan)))) == plan


@pytest.mark.parametrize(
    "spoilt",
    [
        None,
        [],
        {"steps": 3},
        {"phrase": 0, "minutes": 0, "steps": []},
        {"phrase": "1", "minutes": 5, "steps": []},
        {"phrase": 0, "minutes": 5, "steps": [{"layer": "alto", "way": "sing"}]},
        {"phrase": 0, "minutes": 5, "steps": [{"layer": "upper", "way": "hum"}]},
        {"phrase": 0, "minutes": 5, "steps": [{"layer": "upper", "way": "sing", "passes": 2, "tempo": 80}]},
        {
            "phrase": 0,
            "minutes": 5,
            "steps": [{"layer": "upper", "way": "sing", "passes": 2.5, "tempo": 80, "pass_seconds": 3}],
        },
    ],
)
def test_a_spoilt_plan_is_refused_with_a_sentence(spoilt) -> None:
    with pytest.raises(ValueError, match=r"must|needs"):
        from_object(spoilt)


@given(lines(24))
def test_lengths_are_those_the_player_is_given(line) -> None:
    """One pass as the performing room makes it; a single line has no second one."""
    reading = read(line)
    for span in reading.phrases[:2]:
        found = pass_seconds(reading, span)
        assert "ornamented" in found or not any(line[index].length > 0 for index in span.indexes)
        for name, seconds in found.items():
            made = perform(reading, build(reading, name, span), Manner())
            assert seconds == pytest.approx(made.length * 60 / made.tempo, abs=1e-6)
            assert seconds > 0
        if all(reading.voices[index] == "single" for index in span.indexes):
            assert not {"upper", "lower", "interleaved"} & set(found)


def test_a_phrase_of_two_lines_has_all_layers() -> None:
    line = line_of("C5 E4 B4 F4 C5 E4", "1 1 1 1 1 1")
    voices = {n: "upper" if n % 2 == 0 else "lower" for n in range(6)}
    reading = read(line, Decisions(voices=voices, bridges={4: True}, phrase_ends=dict.fromkeys(range(5), False)))
    assert tuple(pass_seconds(reading, reading.phrases[0])) == NAMES


def test_standing_follows_the_last_times() -> None:
    """The last three judged times count; the tempo is the last one played at."""
    noon = datetime(2026, 1, 1, tzinfo=UTC)

    def one(day: int, share: float | None, **detail) -> Happening:
        at = noon + timedelta(days=day)
        return Happening(at, "a", "A", 0, "sung", "upper", "layer:upper", share, 5.0, detail)

    past = [
        one(1, 0.0),
        one(2, 0.9),
        one(3, None, passes=4, tempo=70),
        one(4, 1.0),
        one(5, 0.8),
        one(0, None, tempo=90),
    ]
    found = standings(past)
    assert found == {"upper": Standing(4, pytest.approx(0.9), 70)}
    assert found["upper"].grip == "sure"
    assert Standing().grip == "new"
    assert Standing(3).grip == "under way"
    assert Standing(3, 0.2).grip == "weak"
