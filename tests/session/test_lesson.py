"""A plan under way: steps set the session up, passes are counted, it moves on, gives way, and proposes a rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from earloop.coaching.plan import PAUSE, Plan, Step
from earloop.journal import Journal
from earloop.reading import Decisions
from earloop.session.diary import Diary
from earloop.session.lesson import Lesson
from earloop.session.rest import RestWatch
from earloop.session.session import Session
from tests.made_lines import line_of
from tests.session.fake_player import FakePlayer

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2")
STEPS = (
    Step("skeleton", "hear", 2, 70, 5.0),
    Step("upper", "sing", 3, 80, 5.0),
    Step("ornamented", "play", 1, 90, 5.0),
)


class Sitting:
    """A lesson with a player and a clock moved by hand."""

    def __init__(self, steps: tuple[Step, ...] = STEPS) -> None:
        self.now = 0.0
        self.player = FakePlayer()
        self.session = Session(LINE, self.player, decided=Decisions(phrase_ends={5: True}))
        self.session.practising._clock = lambda: self.now
        self.rest = RestWatch(lambda: self.now)
        self.lesson = Lesson(self.session, Plan(1, 20, steps), self.rest, lambda: self.now)

    def wait(self, seconds: float) -> None:
        """Time goes by, looked at four times a second."""
        until = self.now + seconds
        while self.now < until:
            self.now += 0.25
            self.rest.look(self.player.playing)
            self.session.practising.look()
            self.lesson.look()

    def runs_out(self) -> None:
        """The player has played the passes it was asked for."""
        self.player.playing = False
        self.player.ended += 1
        self.wait(0.25)


def test_a_step_sets_layer_tempo_gap_phrase_and_passes() -> None:
    one = Sitting()
    one.lesson.start(1)
    c = one.session.choices
    assert (c.layer, c.tempo, c.answer_gap, c.loop, one.session.phrase) == ("upper", 80, True, "phrase", 1)
    assert one.player.playing
    assert ("loops", (3,)) in one.player.asked
    assert one.lesson.said == "Plan, step 2 of 3: sing the upper layer, 3 times at 80 %."
    one.player.pass_number = 2
    one.wait(1)
    assert one.lesson.line == "plan 2 of 3, sing, pass 2 of 3, 0 min"


def test_it_goes_through_the_plan_by_itself(journal_file: Path) -> None:
    """To the end; what was played is in the journal, a spell a step; the player is free again."""
    one = Sitting()
    one.session.practising.diary = Diary()
    one.lesson.start(0)
    for step in STEPS:
        one.player.pass_number = step.passes
        assert one.session.choices.layer == step.layer
        assert one.session.choices.answer_gap == step.answered
        one.wait(step.passes * 5)
        one.runs_out()
        assert one.lesson.state == "between"
        one.wait(PAUSE)
    assert one.lesson.state == "done"
    assert one.lesson.line == ""
    assert one.player.asked[-1] == ("loops", (None,))
    one.session.practising.diary.close(5)
    with Journal.open() as journal:
        noted = journal.happenings()
    assert [(h.what, h.phrase, h.detail["passes"], h.detail["tempo"]) for h in noted] == [
        (step.layer, 1, step.passes, step.tempo) for step in STEPS
    ]


@pytest.mark.parametrize(
    "act",
    [lambda s: s.stop(), lambda s: s.choose_layer("held"), lambda s: s.go_to_phrase(0)],
    ids=["stop", "another layer", "another phrase"],
)
def test_the_player_has_the_last_word(act) -> None:
    """What is done by hand holds the plan; it goes on only when asked to."""
    one = Sitting()
    one.lesson.start(0)
    one.wait(1)
    act(one.session)
    one.wait(1)
    assert one.lesson.state == "held"
    assert one.player.asked[-1] == ("loops", (None,))
    assert "press D" in one.lesson.said
    one.wait(10)
    assert one.lesson.state == "held"
    one.lesson.start(one.lesson.place)
    assert one.session.choices.layer == "skeleton"
    assert one.session.phrase == 1


def test_what_is_sung_back_are_passes_of_the_step() -> None:
    """Answers to another layer or phrase are none; a pass that was broken off is none; what is left is asked for."""
    one = Sitting()
    one.lesson.start(1)
    one.player.pass_number = 1
    one.wait(1)
    one.lesson.hold()
    one.lesson.sung_back([("held", 1), ("upper", 0), ("upper", 1), ("upper", 1)])
    assert one.lesson.said == "The plan waits at step 2, 2 of 3 passes done: press D to go on."
    one.lesson.start(1)
    assert ("loops", (1,)) in one.player.asked
    one.wait(1)
    assert one.lesson.line == "plan 2 of 3, sing, pass 3 of 3, 0 min"
    one.lesson.hold()
    one.lesson.sung_back([("upper", 1)])
    assert one.lesson.place == 2
    assert one.lesson.said == "That was step 2. Next: play the page, once at 90 %: press D to go on."
    one.lesson.sung_back([("ornamented", 1)])
    assert one.lesson.state == "done"


def test_what_is_sung_while_one_should_only_hear_is_no_pass() -> None:
    one = Sitting()
    one.lesson.start(0)
    one.wait(1)
    one.lesson.hold()
    said = one.lesson.said
    one.lesson.sung_back([("skeleton", 1)] * 5)
    assert (one.lesson.place, one.lesson.said) == (0, said)


def test_a_change_of_plan_meets_the_steps_to_come() -> None:
    one = Sitting()
    one.lesson.start(0)
    one.wait(1)
    one.lesson.change(one.lesson.plan.without(1))
    one.runs_out()
    assert one.lesson.said == "Next: play the page, once at 90 %."
    one.wait(PAUSE)
    assert one.session.choices.layer == "ornamented"


def test_a_rest_is_proposed_at_the_step_that_would_go_beyond() -> None:
    """After 24 minutes a step of three minutes waits; the proposal defers to teacher and specialist."""
    one = Sitting((Step("skeleton", "hear", 24, 100, 60.0), Step("upper", "hear", 3, 100, 60.0)))
    one.lesson.start(0)
    one.wait(24 * 60)
    one.runs_out()
    one.wait(PAUSE)
    assert one.lesson.state == "resting"
    assert "24 minutes: rest 5 now" in one.lesson.said
    assert "a teacher or a specialist decides" in one.lesson.said
    one.lesson.start(one.lesson.place)
    assert one.session.choices.layer == "upper"


def test_work_is_counted_until_there_was_a_rest() -> None:
    """Short stops are no rest, five minutes are; time a machine slept is no work."""
    now = 0.0
    rest = RestWatch(lambda: now)

    def let(minutes: float, working: bool) -> None:
        nonlocal now
        for _ in range(round(minutes * 60)):
            now += 1
            rest.look(working)

    let(15, True)
    let(4, False)
    let(9, True)
    assert rest.worked == 24 * 60
    assert not rest.due
    let(1, True)
    assert rest.due
    let(5, False)
    assert not rest.due
    assert rest.worked == 0
    now += 3600
    rest.look(True)
    assert rest.worked == 0


def test_the_players_own_word_is_a_result(journal_file: Path) -> None:
    """It is noted for the step that is on, or was done last."""
    one = Sitting()
    assert one.lesson.rate("well") == "Play a step first."
    one.session.practising.diary = Diary()
    one.lesson.start(1)
    one.wait(1)
    assert one.lesson.rate("badly") == "Noted: step 2 went badly."
    one.runs_out()
    assert one.lesson.rate("well") == "Noted: step 2 went well."
    one.session.practising.diary.close(5)
    with Journal.open() as journal:
        noted = [h for h in journal.happenings() if h.result is not None]
    assert [(h.kind, h.item, h.result, h.phrase) for h in noted] == [
        ("sung", "layer:upper", 0.3, 1),
        ("sung", "layer:upper", 1.0, 1),
    ]
