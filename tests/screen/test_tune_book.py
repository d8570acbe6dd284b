"""A book of tunes: each can be taken to the stand, and a long title leaves room for what else the heading says."""

from __future__ import annotations

from pathlib import Path

import pytest
from screen_player import FakePlayer
from seen_screen import seen, until

from earloop.screen.app import make_app
from earloop.screen.signs import DRAWN, PLAIN
from earloop.screen.stand.lines import shortened

LONG = "The Long Way Round by the Salt Road and Home Again before the Lamps are Lit"
BOOK = f"""X:1
T:First Tune
L:1/4
K:C
c d e f |]

X:2
T:{LONG}
L:1/4
K:C
C D E F |]
"""


async def test_another_tune_of_the_book_is_taken(tmp_path: Path):
    """By the key that chooses a part; the heading keeps phrase and tones though the title is long."""
    path = tmp_path / "book.abc"
    path.write_text(BOOK, encoding="utf-8")
    app = make_app(path, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        assert "P or --tune takes another" in seen(app)
        await pilot.press("P")
        await until(pilot, lambda: "Which tune" in seen(app))
        await pilot.press("down", "enter")
        await until(pilot, lambda: app.stand.session.line[0].pitch.name == "C4")
        await pilot.pause()
        heading = seen(app).splitlines()[0]
        assert "The Long Way" in heading
        assert heading.endswith("tones 1 to 4 of 4")
        assert len(heading) <= 80
        await pilot.press("V")
        await until(pilot, lambda: "Sing or play it back" in seen(app))
        await pilot.pause()
        assert "depth 2" in seen(app).splitlines()[0]


@pytest.mark.parametrize("signs", [DRAWN, PLAIN])
def test_a_title_is_shortened_after_a_word(signs):
    for room in range(12, 90):
        told = shortened(LONG, room, signs)
        assert len(told) <= room
        if told != LONG:
            assert told.endswith(signs.more)
            assert LONG.startswith(told.removesuffix(signs.more) + " ")
    assert len(shortened("Unbrokenly" * 9, 20, signs)) <= 20
