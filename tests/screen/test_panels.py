"""The chooser, help, parts and cautions; and what a bad file says."""

from __future__ import annotations

from pathlib import Path

from handmade_reading import TUNE
from rich.console import Console
from screen_player import FakePlayer
from seen_screen import seen, until
from textual import events

from earloop.screen.app import make_app
from earloop.screen.cautions import CAUTIONS
from earloop.screen.keys import KEYS
from earloop.screen.panels.help import help_text
from earloop.screen.panels.panel import Panel
from earloop.screen.saying import Saying
from earloop.screen.signs import DRAWN

TWO_PARTS = """X:1
T:Pair
M:4/4
L:1/4
K:C
V:1 name="Flute"
c d e f |]
V:2 name="Viola"
C D E F |]
"""


def test_help_names_every_key():
    """Each has its row, with the key as it is written and its words; every row fits 80 columns."""
    text = help_text(DRAWN).plain
    rows = text.splitlines()
    for key in KEYS:
        written = DRAWN.words(key.written)
        row = next(row for row in rows if written in row[:12].split() and set(key.words.split()) <= _words(row))
        assert len(row) <= 72, key.id
    for caution in CAUTIONS:
        assert caution in text


def _words(row: str) -> set[str]:
    return {word for part in row.split() for word in (part, part.rstrip(";"))}


def test_help_is_short():
    """Not more than five pages of a window of 24 rows, two of which are the title and the keys."""
    assert len(help_text(DRAWN).wrap(Console(), 73)) <= 5 * 22


def test_keys_are_one_to_one():
    """No two entries share a key or an id."""
    names = [name for key in KEYS for name in key.keys.split(",")]
    assert len(names) == len(set(names))
    assert len({key.id for key in KEYS}) == len(KEYS)


async def test_every_key_has_its_action(stood):
    """Each action of the table is there to be run, with the session's or the desk's method behind it."""
    async with stood() as (app, _, _):
        stand = app.stand
        for key in KEYS:
            name, _, rest = key.action.partition("(")
            assert hasattr(stand, f"action_{name}"), key.id
            if name in ("session", "desk"):
                method = rest.split("'")[1]
                assert hasattr(stand.session if name == "session" else stand.session.desk, method), key.id


async def test_why_gives_reasons(stood):
    """The readers' reasons for every tone, leans and phrase ends among them, with no fault."""
    async with stood() as (app, pilot, _):
        for _tone in app.stand.session.line.tones:
            await pilot.press("h")
            await pilot.pause()
            assert "Why: tone" in seen(app)
            assert "Home: G major" in seen(app)
            await pilot.press("q", "right")


async def test_chooser_opens_another_score(stood, tmp_path: Path):
    """By arrows and Enter, from a folder above too."""
    inner = tmp_path / "inner"
    inner.mkdir()
    (inner / "other.abc").write_text(TUNE.replace("T:Tune", "T:Other Tune"), encoding="utf-8")
    async with stood() as (app, pilot, _):
        await pilot.press("F")
        await pilot.pause()
        assert "inner/" in seen(app)
        await pilot.press("home", "enter")
        await pilot.pause()
        await pilot.press("enter")
        await until(pilot, lambda: app.stand.opened.path.name == "other.abc")
        await pilot.pause()
        assert "Other Tune" in seen(app)


async def test_bad_file_is_said_and_nothing_lost(stood, tmp_path: Path):
    """One sentence in the chooser; the score on the stand stays."""
    (tmp_path / "aaa.abc").write_text("no music at all", encoding="utf-8")
    async with stood() as (app, pilot, _):
        await pilot.press("F", "home", "enter")
        await until(pilot, lambda: "aaa.abc" in seen(app) and "Open a phrase" in seen(app))
        await pilot.pause()
        assert app.stand.opened.path.name == "tune.abc"
        problem = app.screen.query_one("#chooser-problem")
        assert problem.display


async def test_part_is_chosen(tmp_path: Path):
    """With several parts the key offers them."""
    path = tmp_path / "pair.abc"
    path.write_text(TWO_PARTS, encoding="utf-8")
    app = make_app(path, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        assert app.stand.session.line[0].pitch.name == "C5"
        await pilot.press("P")
        await until(pilot, lambda: "Which part" in seen(app))
        await pilot.press("down", "enter")
        await until(pilot, lambda: app.stand.session.line[0].pitch.name == "C4")


async def test_cautions_come_first(tune: Path):
    """At the first start they stand before anything sounds."""
    app = make_app(tune, player=FakePlayer(), care=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: "Start soft" in seen(app))
        await pilot.press("enter")
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        assert "Start soft" not in seen(app)


async def test_without_a_path_the_library_opens():
    """The first phrase of our own stands there, with its card's title."""
    app = make_app(player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        await pilot.pause()
        assert app.stand.opened.card.title in seen(app)
        await pilot.press("F")
        await pilot.pause()
        assert "grade 1" in seen(app)


async def test_player_notice_is_shown(stood):
    """Where there is no device, the player's sentence is on the screen."""
    async with stood() as (app, pilot, player):
        player.place = type(player.place)(notice="no sound device: plug one in")
        await pilot.pause(0.2)
        assert "no sound device: plug one in" in seen(app)


def test_panels_and_screens_come_back_by_one_rule() -> None:
    """The styles they left with stand still."""
    returned = events.ScreenResume()
    assert Panel.on_screen_resume is Saying.on_screen_resume
    Panel("").on_screen_resume(returned)
    assert not returned.refresh_styles
