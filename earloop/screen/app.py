"""The program on the screen: one factory for every start, and the care that the sound ends with it."""

from __future__ import annotations

import asyncio
import sys
import threading
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import textual.screen
from textual import events
from textual.app import App
from textual.screen import Screen

from earloop.screen.background import in_background
from earloop.screen.curtain import Curtain
from earloop.screen.fetched_ahead import fetch_ahead
from earloop.screen.kept_styles import KeptStyles
from earloop.screen.library import first_phrase
from earloop.screen.memory import Tidying
from earloop.screen.panels.care import Care, first_start
from earloop.screen.signalled import mind_signals
from earloop.screen.signs import signs
from earloop.screen.themes import LOOKS, Look, colours, next_theme, theme_name

if TYPE_CHECKING:  # the first frame waits for none of these
    from earloop.screen.stand.stand import Stand
    from earloop.session.diary import Diary
    from earloop.session.player_port import PlayerPort
    from earloop.session.sound_choices import SoundChoices
    from earloop.sounding.outputs import OutputChoice

BAD_INPUT = 2
TIDYING = 0.2
"""Seconds between two looks whether the moment is quiet."""
TURN = 0.0005
"""Seconds a thread may compute on while the task that answers keys waits: that task gives way many times a key, and
Python's own 5 ms each time would make a slow answer of it while the readers are at work."""
FRAME = 0.004
"""Seconds between two frames at the least: an answer that needs two would wait a sixtieth of a second in between."""


class EarloopApp(App[int]):
    """Shows the curtain at once, then the stand, then starts the player and loads the score.

    `stand` is None only while the curtain is down.
    """

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
        wanted: Mapping[str, Any] | None = None,
        sound: SoundChoices | None = None,
    ) -> None:
        super().__init__()
        self.path, self.part, self.player, self.output = path, part, player, output
        self.sound = sound
        self.care, self.mind_signals = care, mind_signals
        self.wanted = wanted
        self.tidying = Tidying()
        self.stylesheet = self._styles = KeptStyles(self.get_css_variables())
        self._sources_ready: dict[str, int] = {}
        self._fetched = False
        self.refusal = ""
        self.plain = plain
        self.stand: Stand | None = None
        self.diary: Diary | None = None
        if plain:
            self.add_class("plain")

    def on_mount(self) -> None:
        self.animation_level = "none"
        sys.setswitchinterval(TURN)
        textual.screen.UPDATE_PERIOD = FRAME  # type: ignore[misc]
        self.set_interval(TIDYING, self._use_quiet_moment)
        if self.mind_signals:
            self._mind_signals()
        self.call_after_refresh(self._begin)

    @property
    def _background_screens(self) -> list[Screen[Any]]:
        """What lies behind a screen that hides it all is not laid out, and nothing above it is drawn for its sake."""
        stack = self.screen_stack
        opaque = bool(stack) and stack[-1].styles.background.a == 1
        return [] if opaque else super()._background_screens

    async def on_event(self, event: events.Event) -> None:
        if isinstance(event, events.InputEvent):
            self.tidying.pressed()
        await super().on_event(event)

    def _use_quiet_moment(self) -> None:
        """Search for garbage, or make ready what comes next; for the first time as soon as there is a score."""
        there = self.stand is not None and self.stand.opened is not None
        if self.tidying.look() or not there or not (self.tidying.quiet or not self._sources_ready):
            return
        if not self._fetched:
            self._fetched = True
            threading.Thread(target=fetch_ahead, name="earloop fetching", daemon=True).start()
        look, sources = self.available_themes[next_theme(self.theme)], len(self._styles.source)
        if self._sources_ready.get(look.name) != sources:
            self._sources_ready[look.name] = sources
            prepare = partial(self._styles.prepare, colours(look))
            threading.Thread(target=prepare, name="earloop looks", daemon=True).start()

    def get_default_screen(self) -> Screen[None]:
        return Curtain()

    def _mind_signals(self) -> None:
        """A hang-up or a request to end is a way to leave like any other."""
        loop = asyncio.get_running_loop()
        mind_signals(lambda code: loop.call_soon_threadsafe(self.exit, code), self._silence, self._let_go)

    def _silence(self) -> None:
        if self.player is not None:
            self.player.stop()

    def _let_go(self) -> None:
        self.close_player()
        self.put_away()

    def _begin(self) -> None:
        self.run_worker(self._start(), group="score", exclusive=True)

    async def _start(self) -> None:
        self.stand = stand = (await in_background(_stand_class))(signs(self.plain))
        await self.push_screen(stand)
        if self.care:
            self.push_screen(Care())
        if self.player is None:
            await in_background(self._start_engine)
        self.diary = await in_background(_new_diary)
        stand.player, stand.diary = self.player, self.diary
        path = self.path or first_phrase()
        if path is None:
            stand.waiting = ""
            stand.say("The phrase library was not installed: press F and open a score of your own.")
            return
        problem = await stand.open(path, self.part, self.wanted)
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

    def put_away(self) -> None:
        """Let go of the score and the journal, all of it written."""
        if self.stand is not None:
            self.stand.put_away()
        if self.diary is not None:
            self.diary.close()


def _stand_class() -> type[Stand]:
    from earloop.screen.stand.stand import Stand

    return Stand


def _new_diary() -> Diary:
    from earloop.session.diary import Diary

    return Diary()


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
    wanted: Mapping[str, Any] | None = None,
    sound: SoundChoices | None = None,
) -> EarloopApp:
    """The app, ready to run; without a path it opens the first phrase of the library.

    Without a `player` it starts an engine of its own with `output`; `sound` is how it is tuned at first.
    `care` shows the cautions first; `mind_signals` leaves in good order on SIGTERM and SIGHUP.
    """
    app = EarloopApp(path, player, part, ascii, output, care, mind_signals, wanted, sound)
    for look in LOOKS.values():
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
    wanted: Mapping[str, Any] | None = None,
    sound: SoundChoices | None = None,
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
            print(f"earloop: {error.sentence}", file=sys.stderr)
            return BAD_INPUT
    app = make_app(
        path,
        part=part,
        ascii=ascii,
        theme=theme,
        output=output,
        care=first_start(),
        mind_signals=True,
        wanted=wanted,
        sound=sound,
    )
    try:
        code = app.run()
    finally:
        app.close_player()
        app.put_away()
    if app.refusal:
        print(f"earloop: {app.refusal}", file=sys.stderr)
    return code if code is not None else app.return_code or 0
