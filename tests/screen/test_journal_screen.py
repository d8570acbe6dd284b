"""The journal on the screen: four views, the score's phrases, plots, and tables alone in plain ASCII."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from seen_screen import seen, until

from earloop.journal import Happening, Journal
from earloop.screen.journal.journal_screen import JournalScreen
from earloop.screen.journal.views import VIEWS


@pytest.fixture
def practised(journal_file: Path) -> Path:
    """Four days of the score `here` and one entry on another."""
    now = datetime.now(UTC)
    with Journal.open() as journal:
        for day in range(4):
            at = now - timedelta(days=3 - day)
            detail = {
                "passes": 2,
                "tempo": 70,
                "degrees": {"2": [day, 3], "#4": [1, 1]},
                "links": {"0-2": [day // 2, 1]},
            }
            journal.note(Happening(at, "here", "Here", 0, "sung", "upper", "layer:upper", day / 3, 600.0, detail))
        journal.note(Happening(now - timedelta(days=1), "there", "There", 0, "sung", "held", "layer:held", 0.0, 60.0))
    return journal_file


async def opened(app, pilot) -> JournalScreen:
    app.stand.session.practising.score = "here"
    await pilot.press("J")
    await until(pilot, lambda: isinstance(app.screen, JournalScreen) and app.screen.happenings is not None)
    await pilot.pause()
    return app.screen


@pytest.mark.parametrize(("size", "plain"), [((80, 24), False), ((80, 24), True), ((140, 40), False)])
async def test_every_view_says_what_was_done(stood, practised, size, plain):
    """Numbers turn to the views; figures and words are the same with plots and without."""
    async with stood(size=size, ascii=plain) as (app, pilot, _):
        await opened(app, pilot)
        words = {
            "1": ("40 minutes in the last seven days", "all scores"),
            "2": ("upper", "67 %", "under way", "phrase 1"),
            "3": ("right", "6  12"),
            "4": ("1 of 1 link is shaky", "1 to 3", "67 %"),
        }
        for key, wanted in words.items():
            await pilot.press(key)
            await pilot.pause()
            text = seen(app)
            assert all(word in text for word in wanted), text
            assert "q back" in text
            assert ("┤" in text) != plain
            assert not plain or text.isascii()
        await pilot.press("q")
        await until(pilot, lambda: app.screen is app.stand)


async def test_arrows_and_phrases(stood, practised):
    """Arrows go round the views; n and p choose a phrase, and its view."""
    async with stood() as (app, pilot, _):
        screen = await opened(app, pilot)
        await pilot.press("left")
        assert VIEWS[screen.place].name == "links"
        await pilot.press("n")
        assert "phrase 2" in seen(app)
        assert "Nothing is noted here yet" in seen(app)
        await pilot.press("n", "n", "p", "p", "p")
        assert screen.phrase == 0


async def test_degrees_and_links_of_one_phrase_or_of_all(stood, practised):
    """a turns between them; n and p go on to the next phrase."""
    async with stood() as (app, pilot, _):
        await opened(app, pilot)
        await pilot.press("3", "a")
        assert "phrase 1" in seen(app)
        assert "6  12" in seen(app)
        await pilot.press("n")
        assert "phrase 2" in seen(app)
        assert "Nothing is noted here yet" in seen(app)
        await pilot.press("a")
        assert "all phrases" in seen(app)
        assert "6  12" in seen(app)


async def test_an_empty_and_a_spoilt_journal(stood, journal_file):
    """A sentence each, and the way back."""
    async with stood() as (app, pilot, _):
        await opened(app, pilot)
        for key in "234":
            await pilot.press(key)
            assert "Nothing is noted here yet" in seen(app)
        await pilot.press("J")
        await until(pilot, lambda: app.screen is app.stand)
        journal_file.write_bytes(b"no journal " * 500)
        await pilot.press("J")
        await until(pilot, lambda: "The journal can't be read" in seen(app))
        await pilot.press("2", "n", "left", "q")
        await until(pilot, lambda: app.screen is app.stand)


def test_plots_come_only_when_the_screen_opens():
    """The stand does without the plotting library."""
    text = (
        "import sys; import earloop.screen.stand.stand; "
        "print([name for name in ('plotext', 'textual_plotext') if name in sys.modules])"
    )
    assert subprocess.run([sys.executable, "-c", text], capture_output=True, text=True).stdout == "[]\n"
