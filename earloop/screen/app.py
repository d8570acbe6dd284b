"""The program on the screen: one factory for every start, and the care that the sound ends with it."""

from __future__ import annotations

import asyncio
from pathlib import Path

from textual.app import App

from earloop.screen.library import first_phrase
from earloop.screen.opening import Opened, open_session
from earloop.screen.signs import signs
from earloop.screen.stand.stand import Stand
from earloop.screen.themes import DARK, LIGHT, Look, theme_name
from earloop.session.player_port import PlayerPort


class EarloopApp(App[int]):
    """Shows the stand at once, then starts the player and loads the score."""

    CSS_PATH = "earloop.tcss"
    TITLE = "earloop"
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, path: Path | None, player: PlayerPort | None, part: int | str | None, plain: bool) -> None:
        super().__init__()
        self.path, self.part, self.player = path, part, player
        self.stand = Stand(signs(plain))

    def on_mount(self) -> None:
        self.push_screen(self.stand)
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self.run_worker(self._start(), group="score", exclusive=True)

    async def _start(self) -> None:
        if self.player is None:
            self.player = await asyncio.to_thread(_engine)
        self.stand.player = self.player
        path = self.path or first_phrase()
        if path is not None:
            await self.open(path, self.part)

    async def open(self, path: Path, part: int | str | None = None) -> str:
        """Set the score at `path` on the stand; the sentence that says why not, where it can't be read."""
        from earloop.scores.errors import ScoreError

        assert self.player is not None
        try:
            opened: Opened = await asyncio.to_thread(open_session, path, self.player, part)
        except ScoreError as error:
            return error.sentence
        self.stand.put(opened)
        return ""


def _engine() -> PlayerPort:
    from earloop.engine.client import Engine

    engine = Engine()
    engine.start()
    return engine


def make_app(
    path: Path | None = None,
    *,
    player: PlayerPort | None = None,
    part: int | str | None = None,
    ascii: bool = False,  # noqa: A002 - the word the command line uses
    theme: Look = "dark",
) -> EarloopApp:
    """The app, ready to run. Without a `player` it starts an engine of its own."""
    app = EarloopApp(path, player, part, ascii)
    for look in (DARK, LIGHT):
        app.register_theme(look)
    app.theme = theme_name(theme)
    return app
