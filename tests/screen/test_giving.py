"""A score given away from the stand, and a package opened on it: a copy of its own beside one's own reading."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from screen_player import FakePlayer
from seen_screen import seen, until
from textual.widgets import Input

from earloop.reading import Decisions
from earloop.scores.kept_form import parse
from earloop.scores.package import read_package, write_package
from earloop.screen.app import make_app
from earloop.screen.comparing.comparing_screen import ComparingScreen
from earloop.screen.long_list import LongList
from earloop.screen.planning.plan_panel import PlanPanel


async def test_given_opened_and_compared(tune: Path) -> None:
    """G writes the score with what is decided now; F opens it as a copy; C beside one's own finds it again."""
    score = tune.read_bytes()
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        await pilot.press("right", "right", "U", "G")
        await until(pilot, lambda: bool(app.screen.query(Input)))
        assert app.screen.query_one(Input).value == str(tune.with_name("tune.earloop.zip"))
        await pilot.press("enter")
        package = tune.with_name("tune.earloop.zip")
        await until(pilot, lambda: "Wrote" in seen(app))
        sent = read_package(package)
        assert sent.score == score
        assert parse(sent.reading, "sent").decided == Decisions(voices={2: "upper"})

        # My own goes on; what was sent stays as it was.
        await pilot.press("L")
        assert app.stand.session.desk.decided == Decisions(voices={2: "lower"})
        await pilot.press("C")
        await until(pilot, lambda: bool(app.screen.query(LongList)))
        assert "package: tune.earloop.zip" in seen(app)
        await pilot.press("down", "down", "enter")
        await until(pilot, lambda: isinstance(app.screen, ComparingScreen))
        screen = app.screen
        assert isinstance(screen, ComparingScreen)
        line = next(d for d in screen.comparing.differences if d.kind == "line" and d.first <= 2 <= d.last)
        assert (line.mine, line.other) == ("lower", "upper")
        await pilot.press("q")

        # The package on the stand: its reading, decided on in a copy, and mine untouched.
        await pilot.press("F")
        await pilot.pause()
        assert "tune.earloop.zip" in seen(app)
        await pilot.press("end", "enter")
        await until(pilot, lambda: app.stand.opened is not None and app.stand.opened.path == package)
        await pilot.pause()
        assert "A copy of its own, from tune.earloop.zip" in seen(app)
        assert app.stand.session.desk.decided == Decisions(voices={2: "upper"})
        await pilot.press("r")
        kept = app.stand.opened.kept
        assert kept is not None
        assert not kept.path.is_relative_to(tune.parent)
        app.put_away()
        mine = parse(tune.with_name(tune.name + ".earloop.toml").read_text(encoding="utf-8"), "mine")
        assert mine.decided == Decisions(voices={2: "lower"})


async def test_a_place_that_is_taken_asks_again(tune: Path) -> None:
    """What was typed stands there still, below one sentence; a missing ending is added."""
    taken = tune.with_name("taken.earloop.zip")
    taken.write_bytes(b"something else")
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        await pilot.press("G")
        await until(pilot, lambda: bool(app.screen.query(Input)))
        app.screen.query_one(Input).value = str(tune.with_name("taken"))
        await pilot.press("enter")
        await until(pilot, lambda: "is there already" in seen(app).replace("\n", ""))
        assert taken.read_bytes() == b"something else"
        app.screen.query_one(Input).value = str(tune.with_name("free"))
        await pilot.press("enter")
        await until(pilot, lambda: tune.with_name("free.earloop.zip").exists())


async def test_a_bad_package_brings_the_chooser_back_with_a_sentence(tune: Path) -> None:
    tune.with_name("bad.earloop.zip").write_bytes(b"PK no archive")
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        await pilot.press("F")
        await pilot.pause()
        await pilot.press("home", "enter")
        await until(pilot, lambda: "damaged and cannot be opened" in seen(app))
        await pilot.press("q")
        assert app.stand.opened is not None
        assert app.stand.opened.path == tune


async def test_a_plan_goes_along_and_is_there_on_the_other_side(tune: Path) -> None:
    """D, then G: the plan as changed; opened, it stands at its phrase and says whose it is; a spoilt one is told."""
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        await pilot.press("n", "D")
        await until(pilot, lambda: isinstance(app.screen, PlanPanel) and app.screen.due is not None)
        await pilot.press("right", "plus", "q", "G")
        await until(pilot, lambda: "with today's plan for phrase 2" in seen(app))
        await pilot.press("enter")
        await until(pilot, lambda: bool(app.screen.query(Input)))
        await pilot.press("enter")
        await until(pilot, lambda: "your reading and the plan" in app.stand.said)
        given = app.stand.lesson.plan
        package = tune.with_name("tune.earloop.zip")
        app.stand.open_in_time(package)
        await until(pilot, lambda: app.stand.opened.path == package)
        await until(pilot, lambda: "With a plan for phrase 2 from your teacher" in app.stand.said)
        assert app.stand.session.phrase == 1
        await pilot.press("D")
        await until(pilot, lambda: isinstance(app.screen, PlanPanel) and app.screen.due is not None)
        assert app.screen.plan == replace(given, source="your teacher")
        assert "(from your teacher)" in seen(app)
        await pilot.press("q")

        spoilt = tune.with_name("spoilt.earloop.zip")
        write_package(spoilt, tune, "format = 1\n", "Tune", {}, '{"steps": 4}')
        app.stand.open_in_time(spoilt)
        await until(pilot, lambda: app.stand.opened.path == spoilt)
        await until(pilot, lambda: "plan that came with it can't be read" in app.stand.said)
