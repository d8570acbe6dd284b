"""The panel of today's plan. Every change is kept at once; Enter starts the step, or goes to what is due."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from earloop.coaching.due import Due
from earloop.coaching.plan import LONGEST, WAYS, Plan, as_object, clock
from earloop.coaching.proposing import why_it_ends
from earloop.coaching.today import due_today, plan_today
from earloop.journal import JournalError
from earloop.line.counted import counted
from earloop.screen.background import begun, in_background
from earloop.screen.long_list import LongList
from earloop.screen.panels.panel import Panel
from earloop.screen.planning.entries import Entry, entries
from earloop.screen.signs import Signs
from earloop.session.lesson import Lesson
from earloop.session.session import Session

LOOK = 0.5
"""Seconds between two looks at where the plan is."""


class PlanPanel(Panel[int | Due]):
    """Dismissed with the place of the step to start, or with something due to go to.

    `lesson` is the stand's; its plan is the one shown, once it is under way on this phrase. `there` is called when
    everything has been found.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "passes(-1)", "fewer passes", show=False),
        Binding("right", "passes(1)", "more passes", show=False),
        Binding("plus", "tempo(5)", "faster", show=False),
        Binding("minus", "tempo(-5)", "slower", show=False),
        Binding("y", "way", "way", show=False),
        Binding("u", "move(-1)", "earlier", show=False),
        Binding("d", "move(1)", "later", show=False),
        Binding("x", "leave_out", "leave out", show=False),
        Binding("less_than_sign,comma", "minutes(-5)", "fewer minutes", show=False),
        Binding("greater_than_sign,full_stop", "minutes(5)", "more minutes", show=False),
        Binding("r", "anew", "propose anew", show=False),
        Binding("1", "rate('badly')", "went badly", show=False),
        Binding("2", "rate('so-so')", "went so-so", show=False),
        Binding("3", "rate('well')", "went well", show=False),
        Binding("space", "hold", "hold", show=False),
        Binding("D", "dismiss(None)", "back", show=False),
    ]

    def __init__(
        self, session: Session, lesson: Lesson, signs: Signs, there: Callable[[], object] = lambda: None
    ) -> None:
        super().__init__(f"Today's plan: phrase {session.phrase + 1}")
        self.session, self.lesson, self.signs = session, lesson, signs
        self.phrase, self.there = session.phrase, there
        self.ready = False
        self.due: tuple[Due, ...] | None = None
        self.lines: list[Entry] = []
        self._time_shown = ""
        self._found = self._find(None)
        self.keys_line = signs.words(
            "enter start it  {left} {right} passes  + - tempo  y hear, sing, play  u d earlier, later  x leave out  "
            "< > minutes  r propose anew  1 2 3 it went badly, so-so, well  space hold, go on  q back"
        )

    def body(self) -> Iterable[Widget]:
        yield Static(id="plan-time", markup=False)
        yield Static("one moment: looking into the journal", id="plan-said", classes="panel-problem", markup=False)
        yield LongList(lambda place: self.lines[place].text)

    def on_mount(self) -> None:
        self.query_one(LongList).focus()
        self.set_interval(LOOK, self._look)
        self._wait_for(self._found, asked=False)

    def _find(self, minutes: int | None) -> Awaitable[Plan]:
        """Look into the journal, from now on: the panel comes up meanwhile."""
        s, diary = self.session, self.session.practising.diary

        def work() -> Plan:
            if diary is not None:
                diary.flush()
            return plan_today(s.reading, s.practising.score, self.phrase, minutes, given=s.given_plan)

        return begun(work)

    def _wait_for(self, found: Awaitable[Plan], asked: bool) -> None:
        self.run_worker(self._load(found, asked), group="plan", exclusive=True)

    async def _load(self, found: Awaitable[Plan], asked: bool) -> None:
        try:
            self._take(await found, asked)
            if self.due is None:
                self.due = await in_background(due_today)
                self._show()
        except JournalError as error:
            self.say(f"The journal can't be read: {error}.")
        self.there()

    def _take(self, plan: Plan, asked: bool) -> None:
        """The plan as it is found; one that is under way goes on, unless another was asked for."""
        self.ready = True
        self.say("" if self.session.practising.diary is None else self.session.practising.diary.notice)
        if asked or not (self.lesson.under_way and self.lesson.plan.phrase == self.phrase):
            self.lesson.change(plan, 0)
        if asked:
            self._keep()
        self._show(self.lesson.place)

    # What is seen

    def _show(self, step: int | None = None) -> None:
        """The lines anew, with the cursor on that step, or where it was."""
        if not self.ready:
            return
        on = self.lesson.place if self.lesson.under_way else None
        here = self.session.practising.score
        listed = self.query_one(LongList)
        chosen = listed.chosen
        self.lines = entries(self.plan, self.due, on, self.signs, here)
        if step is not None:
            chosen = next((k for k, line in enumerate(self.lines) if line.step == step), chosen)
        headings = [k for k, line in enumerate(self.lines) if line.step is None and line.due is None]
        listed.fill(len(self.lines), chosen or 0, headings)
        self._look()

    def _look(self) -> None:
        if not self.ready:
            return
        plan, worked = self.plan, round(self.lesson.rest.worked / 60)
        whose = f"  (from {plan.source})" if plan.source else ""
        parts = [f"{clock(plan.seconds)} of {plan.minutes} minutes planned{whose}"]
        parts.append(f"{counted(worked, 'minute')} worked without a rest")
        if self.lesson.line:
            parts.append(self.lesson.line.rpartition(",")[0])
        if self.lesson.rest.due:
            parts = [self.lesson.rest.told]
        words = "\n".join(filter(None, (f" {self.signs.dot} ".join(parts), why_it_ends(plan))))
        if words != self._time_shown:
            self._time_shown = words
            self.query_one("#plan-time", Static).update(words)

    @property
    def plan(self) -> Plan:
        return self.lesson.plan

    @property
    def chosen(self) -> Entry | None:
        place = self.query_one(LongList).chosen
        return self.lines[place] if place is not None and place < len(self.lines) else None

    # What is changed

    def _change(self, plan: Plan, step: int | None = None, on: int | None = None) -> None:
        self.lesson.change(plan, on)
        self._keep()
        self._show(step)

    def _keep(self) -> None:
        practising = self.session.practising
        if practising.diary is not None:
            practising.diary.keep_plan(practising.score, self.phrase, as_object(self.plan))

    def action_passes(self, by: int) -> None:
        line = self.chosen
        if line is not None and line.step is not None:
            self._change(self.plan.with_passes(line.step, self.plan.steps[line.step].passes + by), line.step)

    def action_tempo(self, by: int) -> None:
        line = self.chosen
        if line is not None and line.step is not None:
            self._change(self.plan.with_tempo(line.step, self.plan.steps[line.step].tempo + by), line.step)

    def action_way(self) -> None:
        line = self.chosen
        if line is not None and line.step is not None:
            way = WAYS[(WAYS.index(self.plan.steps[line.step].way) + 1) % len(WAYS)]
            self._change(self.plan.with_way(line.step, way), line.step)

    def action_move(self, by: int) -> None:
        line = self.chosen
        if line is not None and line.step is not None and 0 <= line.step + by < len(self.plan.steps):
            to, place = line.step + by, self.lesson.place
            on = to if place == line.step else line.step if place == to else place
            self._change(self.plan.moved(line.step, to), to, on)

    def action_leave_out(self) -> None:
        line = self.chosen
        if line is None or line.step is None:
            return
        if self.lesson.state == "running" and line.step == self.lesson.place:
            return self.say("This step is on: hold it with space, then leave it out.")
        on = self.lesson.place - (line.step < self.lesson.place)
        self._change(self.plan.without(line.step), min(line.step, len(self.plan.steps) - 2), on)

    def action_minutes(self, by: int) -> None:
        if self.ready:
            self._anew(max(5, min(LONGEST, self.plan.minutes + by)))

    def action_anew(self) -> None:
        if self.ready:
            self._anew(self.plan.minutes)

    def _anew(self, minutes: int) -> None:
        self.lesson.hold()
        self.ready = False
        self._wait_for(self._find(minutes), asked=True)

    def action_rate(self, word: str) -> None:
        self.say(self.lesson.rate(word))

    def action_hold(self) -> None:
        """Stop and wait, or go on with the step that waits."""
        if self.lesson.state in ("running", "between"):
            self.lesson.hold()
            self.session.stop()
            self._show()
        elif self.ready and self.plan.steps:
            self._start(min(self.lesson.place, len(self.plan.steps) - 1))

    def on_long_list_taken(self, event: LongList.Taken) -> None:
        line = self.lines[event.place]
        if line.step is not None:
            self._start(line.step)
        elif line.due is not None:
            self.dismiss(line.due)

    def _start(self, step: int) -> None:
        self.dismiss(step)
