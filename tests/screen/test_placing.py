"""Decisions that lost their tone: told in a panel, placed at the cursor, let go, undone, kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from screen_player import FakePlayer
from seen_screen import seen, until
from textual.pilot import Pilot

from earloop.reading.decisions import Unplaced
from earloop.scores.kept_form import parse
from earloop.screen.app import EarloopApp, make_app

WAITING = """format = 1
[[unplaced]]
tone = 40
pitch = "C5"
word = "far bell"
[[unplaced]]
tone = 41
pitch = "B4"
leans_to = 42
second_pitch = "A4"
[[unplaced]]
tone = 44
pitch = "D5"
level = 5
"""


@pytest.fixture
def kept(tune: Path) -> Path:
    path = tune.with_name(tune.name + ".earloop.toml")
    path.write_text(WAITING, encoding="utf-8")
    return path


async def opened(pilot: Pilot[Any], app: EarloopApp) -> None:
    await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
    await pilot.pause()


async def test_each_is_placed_at_the_cursor_kept_and_undone(tune: Path, kept: Path) -> None:
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot, app)
        desk = app.stand.session.desk
        before = desk.decided
        assert "X puts them" in seen(app)
        await pilot.press("X")
        await pilot.pause()
        text = seen(app)
        assert 'Tone 40 (C5) of an earlier edition: the word "far bell" over it' in text
        assert "q back" in text
        await pilot.press("right", "right", "right", "enter")
        await pilot.pause()
        assert desk.decided.words == {3: "far bell"}
        assert "Placed at tone 4 (C5, bar 1)." in seen(app)
        assert "far bell" in seen(app).split("Decisions whose tone")[0]
        await until(pilot, lambda: parse(kept.read_text(encoding="utf-8"), "x").decided.words == {3: "far bell"})
        await pilot.press("enter")
        assert desk.decided.leans == {3: 4}
        await pilot.press("z", "z")
        await pilot.pause()
        assert desk.decided == before
        await until(pilot, lambda: len(parse(kept.read_text(encoding="utf-8"), "x").decided.unplaced) == 3)


async def test_one_is_let_go_and_the_rest_waits_for_the_next_session(tune: Path, kept: Path) -> None:
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot, app)
        await pilot.press("X", "down", "backspace", "q")
        await pilot.pause()
        assert "X place" in seen(app)
        app.put_away()
    assert [item.what for item in parse(kept.read_text(encoding="utf-8"), "x").decided.unplaced] == ["word", "level"]
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot, app)
        assert app.stand.session.desk.decided.unplaced[1] == Unplaced("level", 5, 43, "D5")
        await pilot.press("X", "enter", "enter")
        await pilot.pause()
        assert "Every decision has its place" in seen(app) or "Placed at" in seen(app)
        await pilot.press("q", "X")
        await pilot.pause()
        assert "Every decision has its place in this score." in seen(app)


async def test_a_second_tone_outside_the_line_asks_for_a_mark(tune: Path, kept: Path) -> None:
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot, app)
        await pilot.press("end", "X", "down", "enter")
        await pilot.pause()
        assert "mark that tone first" in seen(app)
        await pilot.press("q", "left", "left", "m", "end", "X", "down", "enter")
        await pilot.pause()
        assert app.stand.session.desk.decided.leans == {11: 9}
