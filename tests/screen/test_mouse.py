"""The mouse alone: the cursor by a click on a tone, every key by a click on it, and out of every panel again."""

from __future__ import annotations

import pytest
from seen_screen import seen, until
from textual.widgets import Input

from earloop.line import Span
from earloop.reading.record import Key
from earloop.screen.keys import CORRECTING, GROUPS
from earloop.screen.long_text import LongText
from earloop.screen.panels.help import Help, help_text, rows_of

DECIDES = {
    "raise": ("levels", {2: 1}),
    "to_upper": ("voices", {2: "upper"}),
    "to_middle": ("voices", {2: "middle"}),
    "to_lower": ("voices", {2: "lower"}),
    "to_single": ("voices", {2: "single"}),
    "phrase_end": ("phrase_ends", {2: True}),
    "gesture_end": ("gesture_ends", {2: True}),
    "lean": ("leans", {2: 4}),
    "bridge": ("bridges", {2: True}),
    "home": ("home", Key(3)),
    "local": ("local", ((Span(0, 3), Key(3)),)),
}


async def click_tone(pilot, app, name: str) -> None:
    """On the contour, the first row that has the name."""
    rows = seen(app).splitlines()
    y = next(k for k, row in enumerate(rows) if f" {name}" in row)
    await pilot.click(offset=(rows[y].index(f" {name}") + 1, y))
    await pilot.pause()


async def click_words(pilot, app, words: str) -> None:
    """On the foot of the screen, where these words stand."""
    rows = seen(app).splitlines()
    y = max(k for k, row in enumerate(rows) if words in row)
    await pilot.click(offset=(rows[y].index(words), y))
    await pilot.pause()


async def click_help(pilot, app, key_id: str) -> None:
    """Open help by the mouse, and there on the key's own words."""
    await click_words(pilot, app, "? all keys")
    assert isinstance(app.screen, Help)
    words = next(said for keys in GROUPS.values() for row in rows_of(keys) for key, said in row if key.id == key_id)
    rows = help_text(app.stand.signs).plain.splitlines()
    at = next(k for k, row in enumerate(rows) if words in row)
    view = app.screen.query_one(LongText)
    view.scroll_to(y=at, animate=False)
    await pilot.pause()
    await pilot.click(LongText, offset=(rows[at].index(words), at - int(view.scroll_offset.y)))
    await pilot.pause()
    await pilot.pause()


@pytest.mark.parametrize("key_id", DECIDES)
async def test_every_correction_by_the_mouse_alone(stood, key_id) -> None:
    """A click on the tone, help by a click, a click on the key's line; and taken back by a click in the hint line."""
    field, value = DECIDES[key_id]
    async with stood((100, 30)) as (app, pilot, _):
        session = app.stand.session
        await click_tone(pilot, app, "A3")
        assert session.cursor == 2
        await click_help(pilot, app, key_id)
        assert getattr(session.desk.decided, field) == value
        await until(pilot, lambda: "take back" in seen(app))
        await click_words(pilot, app, "take back")
        assert not session.desk.decided
        await click_words(pilot, app, "again")
        assert getattr(session.desk.decided, field) == value


async def test_what_needs_two_tones_by_the_mouse(stood) -> None:
    """Decorates and the release: the key, then a click on the other tone. A link: the mark, then the key."""
    async with stood((100, 30)) as (app, pilot, _):
        session = app.stand.session
        await click_tone(pilot, app, "A3")
        await click_help(pilot, app, "decorates")
        await click_tone(pilot, app, "C5")
        assert session.desk.decided.decorates == {2: 3}
        await click_tone(pilot, app, "A3")
        await click_help(pilot, app, "leans_to")
        await click_tone(pilot, app, "D5")
        assert session.desk.decided.leans == {2: 5}
        await click_tone(pilot, app, "G3")
        await click_help(pilot, app, "mark")
        await click_tone(pilot, app, "A3")
        await click_help(pilot, app, "link")
        assert session.desk.decided.links == {(0, 2): False}


async def test_a_word_and_the_way_back_by_the_mouse(stood) -> None:
    """The word is typed, all else clicked; and what was decided about the tone is forgotten by a click."""
    async with stood((100, 30)) as (app, pilot, _):
        session = app.stand.session
        await click_tone(pilot, app, "A3")
        await click_help(pilot, app, "word")
        app.screen.query_one(Input).value = "reed"
        await pilot.press("enter")
        await pilot.pause()
        assert session.desk.decided.words == {2: "reed"}
        await click_help(pilot, app, "raise")
        await click_help(pilot, app, "proposal")
        assert session.desk.decided.levels == {}


def test_no_correction_is_left_out_here() -> None:
    """Each act of the table is clicked in one of these tests; lighter and the undo keys go the same ways."""
    others = {"lower", "decorates", "leans_to", "link", "word", "proposal", "place", "undo", "redo"}
    assert {key.id for key in CORRECTING} == {*DECIDES, *others}


@pytest.mark.parametrize("key", ["question_mark", "N", "s", "h", "F"])
async def test_a_click_leads_out_of_a_panel(stood, key) -> None:
    async with stood((100, 30)) as (app, pilot, _):
        await pilot.press(key)
        await pilot.pause()
        await until(pilot, lambda: "q back" in seen(app))
        await click_words(pilot, app, "q back")
        assert app.screen is app.stand
