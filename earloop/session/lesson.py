"""A plan under way: it sets the session up for each step, counts the passes, and moves on by itself."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Literal

from earloop.coaching.plan import PAUSE, Plan, Step
from earloop.line.counted import counted
from earloop.session.rest import RestWatch
from earloop.session.session import Session

State = Literal["ready", "running", "between", "resting", "held", "done"]
"""Not begun; a step sounds; the pause before the next; a rest is proposed; stopped by hand; nothing is left."""
OWN_WORD = {"badly": 0.3, "so-so": 0.7, "well": 1.0}
"""Shares right that a player's own word stands for (ours): they give the three grades of what is due."""


class Lesson:
    """`look` a few times a second; `said` is the sentence for the screen, new at each turn of events."""

    def __init__(
        self, session: Session, plan: Plan, rest: RestWatch, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.session, self.plan, self.rest = session, plan, rest
        self.place = 0
        self.state: State = "ready"
        self.said = ""
        self.passes = 0
        self._clock = clock
        self._since = 0.0
        self._ended = self._done = 0

    @property
    def step(self) -> Step | None:
        """The step that is on, or comes next."""
        return self.plan.steps[self.place] if self.place < len(self.plan.steps) else None

    @property
    def under_way(self) -> bool:
        return self.state in ("running", "between", "resting", "held")

    def start(self, place: int) -> None:
        """Set the session up for that step and play it; what was done of a step that waited isn't asked for again."""
        goes_on = self.state == "held" and place == self.place
        self.place, self._done = place, self.passes if goes_on else 0
        step = self.step
        if step is None:
            return self._finish()
        s = self.session
        s.stop()
        self._ended = s.player.snapshot().ended
        s.set_up(self.plan.phrase, step.layer, step.tempo, step.answered)
        s.player.loops(max(1, step.passes - self._done))
        s.play_or_stop()
        self.state, self.passes = "running", self._done
        self.said = f"Plan, step {place + 1} of {len(self.plan.steps)}: {step.told}."

    def hold(self) -> None:
        """Leave the session to the player; `start` goes on."""
        if self.under_way:
            self.session.player.loops(None)
            if self.state == "running":
                self.passes = max(self._done, self.passes - 1)
            self.state = "held"
            self.said = f"The plan waits at step {self.place + 1}: press D to go on."

    def sung_back(self, layers: Sequence[tuple[str, int | None]]) -> None:
        """So many answers were heard away from here, each to a layer of a phrase: passes of the step as well."""
        step = self.step
        if self.state != "held" or step is None or step.way == "hear":
            return
        self.passes += sum(one == (step.layer, self.plan.phrase) for one in layers)
        if self.passes < step.passes:
            done = f", {self.passes} of {counted(step.passes, 'pass', 'passes')} done" if self.passes else ""
            self.said = f"The plan waits at step {self.place + 1}{done}: press D to go on."
            return
        self.place, self.passes = self.place + 1, 0
        if self.step is None:
            return self._finish()
        self.said = f"That was step {self.place}. Next: {self.step.told}: press D to go on."

    def change(self, plan: Plan, place: int | None = None) -> None:
        """The plan is another now; the step that is on goes on as it began, at `place` where it was moved."""
        self.plan = plan
        self.place = min(self.place if place is None else place, len(plan.steps))

    def rate(self, word: str) -> str:
        """Note in the player's own word how the step went that is on or was done last; the sentence that says so."""
        done = self.place if self.state in ("running", "held") else self.place - 1
        if not 0 <= done < len(self.plan.steps):
            return "Play a step first."
        step = self.plan.steps[done]
        self.session.practising.note(
            "sung" if step.way == "sing" else "played",
            step.layer,
            f"layer:{step.layer}",
            result=OWN_WORD[word],
            detail={"by": "own word", "way": step.way, "tempo": step.tempo},
        )
        return f"Noted: step {done + 1} went {word}."

    def look(self) -> None:
        """See how far the player is, and go on where it is time."""
        if self.state == "running":
            self._look_at_step()
        elif self.state == "between" and self._clock() - self._since >= PAUSE:
            self._go_on()

    def _look_at_step(self) -> None:
        s, step = self.session, self.step
        at = s.player.snapshot()
        if step is None or (s.choices.layer, s.phrase) != (step.layer, self.plan.phrase):
            self.hold()
        elif at.ended > self._ended and not at.playing:
            self.place, self.passes = self.place + 1, 0
            self.state, self._since = "between", self._clock()
            self.said = f"Next: {self.step.told}." if self.step else self.said
        elif not s.practising.going:
            self.hold()
        elif at.playing:
            self.passes = max(self.passes, self._done + at.pass_number)

    def _go_on(self) -> None:
        step = self.step
        if step is None:
            self._finish()
        elif self.rest.due_within(step.seconds):
            self.state = "resting"
            self.said = f"{self.rest.told} D goes on with the plan."
        else:
            self.start(self.place)

    def _finish(self) -> None:
        self.session.player.loops(None)
        self.state = "done"
        self.said = "That was the plan. D shows it; a rest is well earned."

    @property
    def line(self) -> str:
        """Where it is, in a few words; empty while it is not under way."""
        if not self.under_way:
            return ""
        where = f"plan {min(self.place + 1, len(self.plan.steps))} of {len(self.plan.steps)}"
        step = self.step
        if self.state == "running" and step is not None:
            where += f", {step.way}, pass {max(1, self.passes)} of {step.passes}"
        elif self.state != "running":
            where += {"between": ", next", "resting": ", rest", "held": ", waits"}.get(self.state, "")
        return f"{where}, {round(self.rest.worked / 60)} min"
