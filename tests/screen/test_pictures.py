"""The screen as a whole, against pictures kept as text: 80 x 24, a larger one, and plain ASCII."""

from __future__ import annotations

import pytest
from seen_screen import matches, seen, until

CASES = {
    "80x24": ((80, 24), {}, ""),
    "120x40": ((120, 40), {}, "2 right right"),
    "plain": ((80, 24), {"ascii": True}, "right"),
    "plain-help": ((80, 40), {"ascii": True}, "question_mark"),
}


@pytest.mark.parametrize("name", CASES)
async def test_looks_as_kept(stood, name):
    """Heading, choices, picture, sentence, sound and keys stand where they stood."""
    size, words, keys = CASES[name]
    async with stood(size, **words) as (app, pilot, _):
        await pilot.press(*keys.split())
        await pilot.pause()
        matches(seen(app), name)


async def test_plain_is_ascii_only(stood):
    """With ascii no sign outside ASCII is drawn, on any screen."""
    async with stood(ascii=True) as (app, pilot, player):
        player.play()
        for key in ("right", "y", "m", "k", "question_mark", "q", "F", "q", "s", "q", "W", "ctrl+c"):
            await pilot.press(key)
            await pilot.pause()
            assert seen(app).isascii(), key


@pytest.mark.parametrize("width", [40, 60, 80, 100, 140, 200])
async def test_no_tone_is_cut_off(stood, width):
    """At any width every tone's name stands wholly on some system."""
    async with stood((width, 60), ascii=True) as (app, _, _):
        text = seen(app)
        for tone in app.stand.session.line.tones:
            assert tone.pitch.name in text


async def test_resized_again_and_again(stood):
    """After a flurry of sizes the picture is that of the last size."""
    async with stood() as (app, pilot, _):
        first = seen(app)
        for size in ((40, 12), (200, 60), (81, 25), (30, 8), (80, 24)):
            await pilot.resize_terminal(*size)
        await until(pilot, lambda: seen(app) == first)
