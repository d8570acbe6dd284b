"""The program on the screen: one factory for every start, and the care that the sound ends with it."""

from __future__ import annotations

import asyncio
import contextlib
import signal
import sys
from pathlib import Path

from textual.app import App

from earloop.screen.background import in_background
from earloop.screen.library import first_phrase
from earloop.screen.panels.care import Care, first_start
from earloop.screen.signs import signs
from earloop.screen.stand.stand import Stand
from earloop.screen.themes import DARK, LIGHT, Look, theme_name
from earloop.session.player_port import PlayerPort
from earloop.sounding.outputs import OutputChoice

BAD_INPUT = 2


class EarloopApp(App[int]):
    """Shows the stand at once, then starts the player and loads the score."""

    CSS_PATH = "earloop.tcss"
    TITLE = "earloop"
    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self,
        path: Path | None = None,
        player: PlayerPort | None = None,
        part: int | str | None = None,
        plain: bool = False,
        output: OutputChoice | None = None,
        care: bool = False,
        mind_signals: bool = False,
    ) -> None:
        super().__init__()
        self.path, self.part, self.player, self.output = path, part, player, output
        self.care, self.mind_signals = care, mind_signals
        self.refusal = ""
        self.stand = Stand(signs(plain))
        if plain:
            self.add_class("plain")

    def on_mount(self) -> None:
        self.animation_level = "none"
        if self.mind_signals:
            self._mind_signals()
        self.push_screen(self.stand)
        self.call_after_refresh(self._begin)

    def _mind_signals(self) -> None:
        """A hang-up or a request to end is a way to leave like any other."""
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                    asyncio.get_running_loop().add_signal_handler(number, self.exit, 128 + number)

    def _begin(self) -> None:
        if self.care:
            self.push_screen(Care())
        self.run_worker(self._start(), group="score", exclusive=True)

    async def _start(self) -> None:
        if self.player is None:
            await in_background(self._start_engine)
        self.stand.player = self.player
        path = self.path or first_phrase()
        if path is None:
            self.stand.waiting = ""
            self.stand.say("The phrase library was not installed: press F and open a score of your own.")
            return
        problem = await self.stand.open(path, self.part)
        if problem:
            self.refusal = problem
            self.exit(BAD_INPUT)

    def _start_engine(self) -> None:
        from earloop.engine.client import Engine

        engine = Engine(self.output)
        self.player = engine
        engine.start()

    def close_player(self) -> None:
        """Silence. May be called twice."""
        if self.player is not None:
            self.player.close()


def make_app(
    path: Path | None = None,
    *,
    player: PlayerPort | None = None,
    part: int | str | None = None,
    ascii: bool = False,  # noqa: A002 - the word the command line uses
    theme: Look = "dark",
    output: OutputChoice | None = None,
    care: bool = False,
    mind_signals: bool = False,
) -> EarloopApp:
    """The app, ready to run; without a path it opens the first phrase of the library.

    Without a `player` it starts an engine of its own with `output`. `care` shows the cautions first;
    `mind_signals` leaves in good order on SIGTERM and SIGHUP.
    """
    app = EarloopApp(path, player, part, ascii, output, care, mind_signals)
    for look in (DARK, LIGHT):
        app.register_theme(look)
    app.theme = theme_name(theme)
    return app


def run_screen(
    path: Path | None = None,
    *,
    part: int | str | None = None,
    ascii: bool = False,  # noqa: A002 - the word the command line uses
    theme: Look = "dark",
    output: OutputChoice | None = None,
) -> int:
    """Run until the performer leaves; the exit code: 0 left, 2 the score can't be read, 128 + n ended by a signal.

    Whatever ends the screen, the player is closed: a fault of ours, a signal, a lost terminal.
    """
    if path is not None and not path.is_file():
        from earloop.scores.errors import ScoreError
        from earloop.scores.files import open_score

        try:
            open_score(path)
        except ScoreError as error:
            print(error.sentence, file=sys.stderr)
            return BAD_INPUT
    app = make_app(path, part=part, ascii=ascii, theme=theme, output=output, care=first_start(), mind_signals=True)
    try:
        code = app.run()
    finally:
        app.close_player()
    if app.refusal:
        print(app.refusal, file=sys.stderr)
    return code if code is not None else app.return_code or 0
