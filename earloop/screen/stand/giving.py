"""Giving the score on the stand away, with its reading, as one file."""

from __future__ import annotations

from pathlib import Path

from earloop.screen.background import in_background
from earloop.screen.panels.ask import Ask
from earloop.screen.stand.correcting import Correcting


class Giving(Correcting):
    """The board that makes packages."""

    def action_give(self) -> None:
        if self.opened is not None and self.opened.kept is not None:
            self.run_worker(self._ask_where(), group="give", exclusive=True)

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
        try:
            await in_background(lambda: write_package(path, kept.score, kept.text(decided), title, kept.choice))
        except ScoreError as error:
            await self._ask_where(error.sentence, typed)
            return
        self.say(f"Wrote {path}: the score and your reading, to be sent. Opened with F, or: earloop {path.name}")
