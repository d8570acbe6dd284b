"""Every key that plays, moves or shows does what the table says."""

from __future__ import annotations

import pytest
from seen_screen import seen

from earloop.screen.long_list import LongList

CHOICES = [
    ("2", "layer", "upper"), ("3", "layer", "lower"), ("4", "layer", "interleaved"), ("5", "layer", "bridged"),
    ("6", "layer", "held"), ("7", "layer", "ornamented"), ("plus", "tempo", 105), ("minus", "tempo", 95),
    ("right_square_bracket", "tempo", 101), ("left_square_bracket", "tempo", 99), ("o", "drone", "tonic"),
    ("a", "answer_gap", True), ("i", "count_in", 2), ("t", "true_time", False), ("w", "switch_now", True),
    ("g", "degree_names", "do"), ("k", "home_or_local", "local"), ("v", "shaped", False), ("l", "loop", "gesture"),
    ("greater_than_sign", "level", 0.55), ("less_than_sign", "level", 0.45),
]  # fmt: skip


@pytest.mark.parametrize(("key", "choice", "value"), CHOICES)
async def test_key_makes_the_choice(stood, key, choice, value):
    """One key, one choice, and the screen says something else than before."""
    async with stood() as (app, pilot, _):
        before = seen(app)
        await pilot.press(key)
        await pilot.pause()
        assert getattr(app.stand.session.choices, choice) == value
        assert seen(app) != before


async def test_space_starts_and_stops(stood):
    async with stood() as (app, pilot, player):
        await pilot.press("space")
        await pilot.pause(0.15)
        assert player.asked[-1] == ("play",)
        assert "playing" in seen(app)
        await pilot.press("space")
        await pilot.pause(0.15)
        assert player.asked[-1] == ("stop",)
        assert "stopped" in seen(app)


async def test_depth_tempo_and_phrases(stood):
    """Barer, fuller; back to 100; to the next phrase and back."""
    async with stood() as (app, pilot, player):
        session = app.stand.session
        await pilot.press("d", "d", "c")
        assert session.depth == 3
        await pilot.press("plus", "plus", "0")
        assert session.choices.tempo == 100
        assert player.asked[-1] == ("tempo", 1.0)
        await pilot.press("n")
        assert (session.phrase, session.cursor) == (1, 7)
        await pilot.press("p")
        assert (session.phrase, session.cursor) == (0, 0)


async def test_cursor_and_seeking(stood):
    """Arrows walk over tones and gestures; Enter lets the sound go on from the cursor."""
    async with stood() as (app, pilot, player):
        session = app.stand.session
        await pilot.press("right", "right", "left")
        assert session.cursor == 1
        await pilot.press("down")
        assert session.cursor == 4
        await pilot.press("right", "up")
        assert session.cursor == 4
        await pilot.press("up")
        assert session.cursor == 0
        await pilot.press("end")
        assert session.cursor == 11
        await pilot.press("home", "right", "right", "right", "right", "enter")
        assert player.asked[-1] == ("seek", 4.0)


async def test_two_marks_loop_between(stood):
    async with stood() as (app, pilot, _):
        await pilot.press("right", "m", "right", "right", "m")
        session = app.stand.session
        assert session.choices.loop == "marks"
        assert (session.span.first, session.span.last) == (1, 3)


async def test_playing_place_moves(stood):
    """The sign over the tones follows the player, and stands nowhere when nothing sounds."""
    async with stood() as (app, pilot, player):
        await pilot.press("7", "space")
        columns = []
        for position in (0.0, 1.0, 4.0):
            player.at(position)
            await pilot.pause(0.2)
            rows = seen(app).splitlines()
            columns.append(next(row.index("▼") for row in rows if "▼" in row))
        assert columns == sorted(set(columns))
        await pilot.press("space")
        await pilot.pause(0.2)
        assert "▼" not in seen(app)


async def test_strands_are_muted_and_heard_alone(stood):
    async with stood() as (app, pilot, player):
        await pilot.press("s", "down", "down", "m")
        assert player.asked[-1] == ("mute", "lower", True)
        await pilot.press("a")
        assert player.asked[-1] == ("alone", "lower")
        assert "alone" in seen(app)
        await pilot.press("q")
        await pilot.pause()
        assert "alone: lower" in seen(app)


async def test_output_is_chosen(stood):
    async with stood() as (app, pilot, player):
        await pilot.press("O")
        for _ in range(200):
            await pilot.pause(0.05)
            if app.screen.query(LongList):
                break
        await pilot.press("end", "enter")
        await pilot.pause()
        assert ("output", "silent") in player.asked


async def test_theme_turns(stood):
    async with stood() as (app, pilot, _):
        for look in ("light", "contrast", "dark"):
            await pilot.press("T")
            assert app.theme == f"earloop-{look}"


async def test_click_puts_the_cursor_on_a_tone(stood):
    """A click anywhere in a tone's columns."""
    async with stood() as (app, pilot, _):
        rows = seen(app).splitlines()
        y = next(k for k, row in enumerate(rows) if "D5" in row)
        await pilot.click(offset=(rows[y].index("D5"), y))
        await pilot.pause()
        assert app.stand.session.cursor == 5


async def test_hint_can_be_clicked(stood):
    async with stood() as (app, pilot, player):
        rows = seen(app).splitlines()
        y = next(k for k, row in enumerate(rows) if "space play" in row)
        await pilot.click(offset=(rows[y].index("play"), y))
        await pilot.pause()
        assert ("play",) in player.asked
