"""Giving the score on the stand away, with its reading, as one file."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from earloop.coaching.plan import TEACHER, Plan, as_object
from earloop.screen.background import in_background
from earloop.screen.panels.ask import Ask
from earloop.screen.panels.panel import Choice
from earloop.screen.stand.correcting import Correcting


class Giving(Correcting):
    """The board that makes packages."""

    _with_plan: Plan | None = None

    def action_give(self) -> None:
        """A plan that was looked at for this phrase (D) can go with it."""
        if self.opened is None or self.opened.kept is None:
            return
        self._with_plan = None
        plan = self.plan_to_give()
        if plan is None:
            self.run_worker(self._ask_where(), group="give", exclusive=True)
            return

        def take(chosen: tuple[Plan | None] | None) -> None:
            if chosen is not None:
                self._with_plan = chosen[0]
                self.run_worker(self._ask_where(), group="give", exclusive=True)

        options: list[tuple[str, tuple[Plan | None]]] = [
            (f"with today's plan for phrase {plan.phrase + 1}", (plan,)),
            ("without a plan", (None,)),
        ]
        self.app.push_screen(Choice("Give this score with your reading, and with a plan?", options), take)

    async def _ask_where(self, problem: str = "", typed: str = "") -> None:
        from earloop.scores.package import free_package_name

        assert self.opened is not None
        assert self.opened.kept is not None
        score = self.opened.kept.score
        name = typed or str(free_package_name(self.opened.path.parent, score))

        def take(answer: str | None) -> None:
            if answer and answer.strip():
                self.run_worker(self._give(answer.strip()), group="give", exclusive=True)

        title = "Give this score with your reading as one file: where to?"
        self.app.push_screen(Ask(f"{problem}\n\n{title}" if problem else title, name), take)

    async def _give(self, typed: str) -> None:
        from earloop.scores.errors import ScoreError
        from earloop.scores.package import PACKAGE_ENDING, write_package

        session, kept = self.session, self.opened.kept if self.opened else None
        if session is None or kept is None:
            return
        path = Path(typed).expanduser()
        if not path.name.lower().endswith(PACKAGE_ENDING):
            path = path.with_name(path.name + PACKAGE_ENDING)
        decided, title = session.desk.decided, session.line.title or kept.score.stem
        plan = self._with_plan
        told = "" if plan is None else json.dumps(as_object(replace(plan, source=plan.source or TEACHER)))
        try:
            await in_background(lambda: write_package(path, kept.score, kept.text(decided), title, kept.choice, told))
        except ScoreError as error:
            await self._ask_where(error.sentence, typed)
            return
        what = "the score, your reading and the plan" if told else "the score and your reading"
        self.say(f"Wrote {path}: {what}, to be sent. Opened with F, or: earloop {path.name}")
