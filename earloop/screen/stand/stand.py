"""The stand: the board with everything a key can do, and the panels that lie over it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from earloop.line.counted import counted
from earloop.screen.background import in_background
from earloop.screen.keys import KEYS
from earloop.screen.library import phrases_folder
from earloop.screen.opening import open_session
from earloop.screen.panels.chooser import Chooser
from earloop.screen.panels.help import Help
from earloop.screen.panels.panel import Choice
from earloop.screen.panels.strands import Strands
from earloop.screen.panels.why_panel import WhyPanel
from earloop.screen.stand.asking import AskingTheEar
from earloop.screen.stand.coaching import Coaching
from earloop.screen.stand.comparisons import Comparisons
from earloop.screen.stand.giving import Giving
from earloop.screen.stand.placing import PlacingByHand
from earloop.screen.stand.singing import SingingBack
from earloop.screen.stand.whole import WholeInSight
from earloop.screen.stand.why import reasons
from earloop.screen.themes import next_theme


class Stand(AskingTheEar, Coaching, Comparisons, Giving, PlacingByHand, SingingBack, WholeInSight):
    """What the app shows."""

    async def open(self, path: Path, part: int | str | None = None, wanted: Mapping[str, Any] | None = None) -> str:
        """Set the score at `path` on the stand; the sentence that says why not, where it can't be read."""
        from earloop.scores.errors import ScoreError

        player = self.player
        assert player is not None
        if self.session is not None:
            self.session.stop()
        before = self.opened
        if before is not None and before.path == path:
            self.put_away()  # or the score would be found open in another program
        self.waiting = f"one moment: opening {path.name}"
        self.look()
        try:
            opened = await in_background(lambda: open_session(path, player, part, wanted, self.diary))
            if before is not None and before.path != path:
                self.put_away()
            self.put(opened)
        except ScoreError as error:
            return error.sentence
        except Exception as error:
            return f"{path.name} can't be opened, and that is earloop's fault ({type(error).__name__}: {error})."
        finally:
            self.waiting = ""
            self.look()
        return ""

    def put_away(self) -> None:
        """Let other programs have the file that keeps this score's decisions."""
        if self.opened is None:
            return
        self.opened.session.practising.ends()
        if self.opened.kept is not None:
            self.opened.kept.close()

    def open_in_time(self, path: Path, part: int | str | None = None, wanted: Mapping[str, Any] | None = None) -> None:
        """Open without holding up the keys; back to the chooser with a sentence where it can't be read."""

        async def work() -> None:
            problem = await self.open(path, part, wanted)
            if problem:
                self._choose(path.parent, path, problem)

        self.run_worker(work(), group="score", exclusive=True)

    def action_choose(self) -> None:
        here = self.opened.path if self.opened else None
        self._choose(here.parent if here else phrases_folder() or Path.cwd(), here, "")

    def _choose(self, folder: Path, here: Path | None, problem: str) -> None:
        def take(path: Path | None) -> None:
            if path is not None and self.player is not None:
                self.open_in_time(path)

        self.app.push_screen(Chooser(folder, here, problem), take)

    def action_parts(self) -> None:
        if self.opened is not None:
            self.run_worker(self._offer_parts(self.opened.path), group="parts", exclusive=True)

    async def _offer_parts(self, path: Path) -> None:
        from earloop.scores.load import list_parts, list_tunes

        tunes = await in_background(lambda: list_tunes(path))
        if len(tunes) > 1:
            named = [(f"{number}  {title or 'no title'}", number) for number, title in tunes]
            self._offer("Which tune?", named, lambda number: self.open_in_time(path, wanted={"tune": number}))
            return
        parts = await in_background(lambda: list_parts(path))
        options = [(f"{part.number}  {part.name}  ({counted(part.tones, 'tone')})", part.number) for part in parts]
        if len(options) < 2:
            self.say("The score has one part only.")
            return
        self._offer("Which part?", options, lambda number: self.open_in_time(path, number))

    def _offer(self, title: str, options: list[tuple[str, int]], take: Callable[[int], None]) -> None:
        self.app.push_screen(Choice(title, options), lambda number: None if number is None else take(number))

    def action_strands(self) -> None:
        if self.session is not None:
            self.app.push_screen(Strands(self.session), lambda _: self.show())

    def action_why(self) -> None:
        if self.session is not None:
            title = f"Why: tone {self.session.cursor + 1}"
            self.app.push_screen(WhyPanel(title, reasons(self.session, self.signs)))

    def action_help(self) -> None:
        async def press(wanted: str | None) -> None:
            for key in KEYS:
                if key.id == wanted:
                    await self.run_action(key.action)

        self.app.push_screen(Help(self.signs), press)

    def action_theme(self) -> None:
        self.app.theme = next_theme(self.app.theme)

    def action_leave(self) -> None:
        """Out of choosing a tone first, where one is under way; else out of earloop."""
        if self.picking is not None:
            self._stop_picking("")
        else:
            self.app.exit(0)
