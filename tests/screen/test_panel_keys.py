"""Every panel tells how it is left, at 80 by 24 and however much there is in it; and the way it tells is true."""

from __future__ import annotations

import pytest
from seen_screen import seen, until

from earloop.screen.panels.ask import Ask
from earloop.screen.panels.panel import Choice
from earloop.screen.panels.why_panel import WhyPanel
from earloop.screen.signs import DRAWN
from earloop.screen.stand.hints import hints

MANY = [f"number {number}" for number in range(60)]


@pytest.mark.parametrize(
    "panel",
    [
        lambda: Choice("Which one?", [(words, words) for words in MANY], problem="The last one is gone."),
        lambda: WhyPanel("Why", MANY),
    ],
)
async def test_a_long_panel_keeps_its_keys_in_sight(stood, panel):
    async with stood() as (app, pilot, _):
        app.push_screen(panel())
        await until(pilot, lambda: "number 0" in seen(app))
        assert "q back" in seen(app)


async def test_what_a_key_does_stays_beside_it(stood):
    """Where the line of keys is broken, it is between two keys."""
    async with stood() as (app, pilot, _):
        await pilot.press("D")
        await until(pilot, lambda: "q back" in seen(app))
        shown = seen(app)
        for part in ("enter start it", "u d earlier, later", "< > minutes", "1 2 3 it went badly, so-so, well"):
            assert part in shown


async def test_a_line_of_text_is_left_as_told_though_all_of_it_is_chosen(stood):
    """The text that stood there is chosen at first, so that ctrl+c would copy it."""
    got = []
    async with stood() as (app, pilot, _):
        app.push_screen(Ask("Where to?", "a/long/path"), got.append)
        await pilot.pause()
        await pilot.press("ctrl+c")
        await until(pilot, lambda: got == [None])


@pytest.mark.parametrize("more", [(), ("undo", "decided"), ("undo", "redo", "decided", "marked", "unplaced")])
def test_the_other_screens_and_the_way_back_are_in_the_hint_line_at_80_columns(more):
    told = hints(frozenset(("always", "score", *more)), DRAWN, 78).plain
    assert all(len(line.rstrip()) <= 78 for line in told.splitlines())
    assert len(told.splitlines()) <= 3
    for part in ("space play", "V sing back", "A ask the ear", "D today", "F open", "? all keys", "q quit"):
        assert part in told
    if "undo" in more:
        assert "z take back" in told
