"""Every correction: one key at the cursor, seen at once, heard from the next pass, and undone as it was."""

from __future__ import annotations

import threading

import pytest
from seen_screen import seen, until
from textual.widgets import Input

from earloop.line import Span
from earloop.reading import read as full
from earloop.reading.record import Key

ACTS = [
    ("r", "levels", {2: 1}),
    ("U", "voices", {2: "upper"}),
    ("M", "voices", {2: "middle"}),
    ("L", "voices", {2: "lower"}),
    ("S", "voices", {2: "single"}),
    ("e", "phrase_ends", {2: True}),
    ("E", "gesture_ends", {2: True}),
    ("y", "leans", {2: 4}),
    ("Y right right right right Y", "leans", {2: 6}),
    ("b", "bridges", {2: True}),
    ("H", "home", Key(3)),
    ("K", "local", ((Span(0, 3), Key(3)),)),
    ("x right right x", "decorates", {2: 4}),
    ("left left m right right j", "links", {(0, 2): False}),
]


@pytest.mark.parametrize(("keys", "field", "value"), ACTS)
async def test_key_decides(stood, keys, field, value):
    """What was decided stands in the record and on the screen with its own sign, is heard, and can be taken back."""
    async with stood() as (app, pilot, player):
        session = app.stand.session
        await pilot.press("right", "right")
        before = session.desk.decided
        await pilot.press(*keys.split())
        await pilot.pause()
        assert getattr(session.desk.decided, field) == value
        await until(pilot, lambda: session.desk.settled)
        assert player.asked[-1][0] == "load"
        assert session.reading is session.desk.reading
        if field != "home":
            assert session.desk.decided_about(2)
            assert "by hand" in seen(app)
        await pilot.press("z")
        await pilot.pause()
        assert session.desk.decided == before
        assert "Taken back" in seen(app)
        await pilot.press("Z")
        assert getattr(session.desk.decided, field) == value


async def test_lighter(stood):
    async with stood() as (app, pilot, _):
        await pilot.press("right", "f")
        assert app.stand.session.desk.decided.levels == {1: 2}


async def test_home_turns_to_the_other_mode(stood):
    """The second press on the same tone changes the mode."""
    async with stood() as (app, pilot, _):
        await pilot.press("H")
        assert app.stand.session.desk.decided.home == Key(1, "minor")


async def test_word_is_written(stood):
    """A word with every letter, q among them, stands over its tone."""
    async with stood() as (app, pilot, _):
        await pilot.press("W")
        await pilot.pause()
        app.screen.query_one(Input).value = "quiet water"
        await pilot.press("enter")
        await pilot.pause()
        assert app.stand.session.desk.decided.words == {0: "quiet water"}
        assert "quiet water" in seen(app)


async def test_back_to_the_proposal(stood):
    async with stood() as (app, pilot, _):
        await pilot.press("right", "U", "y", "backspace")
        await pilot.pause()
        assert not app.stand.session.desk.decided
        assert "by hand" not in seen(app)


async def test_picking_can_be_left(stood):
    """Backspace leaves the tone as it was, with the cursor back on it."""
    async with stood() as (app, pilot, _):
        await pilot.press("right", "x", "right", "right")
        await pilot.pause()
        assert "decorates this one" in seen(app)
        await pilot.press("backspace")
        session = app.stand.session
        assert (session.cursor, bool(session.desk.decided), app.stand.picking) == (1, False, None)


@pytest.mark.parametrize("first", ["x", "Y"])
async def test_q_leaves_the_choosing_of_a_tone_before_it_leaves_earloop(stood, first):
    async with stood() as (app, pilot, _):
        await pilot.press("right", first, "right")
        assert "q leave it" in seen(app)
        await pilot.press("q")
        await pilot.pause()
        assert app.is_running
        session = app.stand.session
        assert (session.cursor, bool(session.desk.decided), app.stand.picking) == (1, False, None)
        await pilot.press("q")
        await until(pilot, lambda: app.return_code == 0 and not app.is_running)


async def test_joining_needs_a_mark(stood):
    """Without a second tone the stand says what to do, and nothing is decided."""
    async with stood() as (app, pilot, _):
        await pilot.press("j")
        await pilot.pause()
        assert "Mark one tone" in seen(app)
        assert not app.stand.session.desk.decided


async def test_nothing_to_change_is_said(stood):
    """The line's last tone can't end a phrase anew."""
    async with stood() as (app, pilot, _):
        await pilot.press("end", "e")
        await pilot.pause()
        assert "Nothing to change there" in seen(app)


async def test_a_decision_is_seen_before_the_readers_come(stood):
    """However long they take: its sign is in the next frame, the next key builds on it, and sound waits for them."""
    async with stood() as (app, pilot, player):
        session = app.stand.session
        slow, read = threading.Event(), session.desk._rereading._readers._work

        def reads_slowly(decided):
            slow.wait(20)
            return read(decided)

        session.desk._rereading._readers._work = reads_slowly
        await pilot.press("right", "right", "r", "r", "U")
        await pilot.pause()
        assert not session.desk.settled
        assert session.desk.decided.levels == {2: 2}
        assert (session.reading.weights.level[2], session.reading.voices[2]) == (2, "upper")
        assert "by hand" in seen(app)
        assert ("load", "seam") not in player.asked
        slow.set()
        await until(pilot, lambda: session.desk.settled)
        await until(pilot, lambda: ("load", "seam") in player.asked)
        assert session.reading == full(session.line, session.desk.decided)


@pytest.mark.parametrize("size", [(60, 24), (80, 24), (140, 40)])
async def test_no_word_about_a_decision_is_cut(stood, size):
    """What was decided stands whole below its tone, or as the sign alone; the choices end with a whole word."""
    async with stood(size) as (app, pilot, _):
        await pilot.press("right", "right", "r", "a", "i", "o", "w", "right", "r", "y", "right", "right", "U")
        await until(pilot, lambda: app.stand.session.desk.settled)
        rows = [row for row in seen(app).splitlines() if "by hand *" in row and "Tone" not in row]
        words = " ".join(rows).replace("by hand *", "").split()
        assert words
        assert set(words) <= {"weight", "line", "lean", "*", "2", "│", "▃", "▁", "█", "▅", "▇", "▂", "▄", "▆"}
        details = seen(app).splitlines()[2].rstrip()
        assert not details.endswith(("·", "│"))
        assert "level" not in details or details.endswith("level 50")
