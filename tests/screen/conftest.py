"""The stand on a tune of the tests' own, with a fake player and a reading made by hand."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from handmade_reading import TUNE, handmade_session
from screen_player import FakePlayer
from seen_screen import until
from textual.pilot import Pilot

from earloop.screen.app import EarloopApp, make_app
from earloop.screen.opening import Card, Opened

OnTheStand = tuple[EarloopApp, Pilot[Any], FakePlayer]
Stood = AbstractAsyncContextManager[OnTheStand]


@pytest.fixture(autouse=True)
def _own_data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Nothing a test decides reaches the user's own files."""
    home = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    monkeypatch.setenv("XDG_STATE_HOME", str(home / "state"))


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    """A score file of two phrases."""
    path = tmp_path / "tune.abc"
    path.write_text(TUNE, encoding="utf-8")
    return path


@pytest.fixture
def stood(tune: Path) -> Callable[..., Stood]:
    """A context: the app with the handmade reading on the stand. Extra words go to the factory."""

    @asynccontextmanager
    async def run(size: tuple[int, int] = (80, 24), **words: Any) -> AsyncIterator[OnTheStand]:
        player = FakePlayer()
        app = make_app(tune, player=player, **words)
        async with app.run_test(size=size) as pilot:
            await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
            app.stand.put(Opened(tune, handmade_session(player), Card("A Tune for Testing", "flute", 1, "")))
            await pilot.pause()
            player.asked.clear()
            yield app, pilot, player

    return run
