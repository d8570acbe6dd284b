"""The map: the whole line in one width, where one is, what is decided, where the sound is, the way to any phrase."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from screen_player import FakePlayer
from seen_screen import seen, until
from textual._compositor import Compositor

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading import read
from earloop.screen.long_list import LongList
from earloop.screen.opening import Card, Opened
from earloop.screen.picture.scrolled import Scrolled
from earloop.screen.whole.course import GUTTER, course_of
from earloop.screen.whole.course_view import CourseView
from earloop.screen.whole.whole_piece import WholePiece
from earloop.session.session import Session
from tests.made_lines import lines


@given(lines(), st.integers(1, 120))
def test_the_course_holds_every_tone_in_order(line: Line, width: int) -> None:
    """Columns go on without a gap, each tone has one, and it lies among those of its phrase."""
    reading = read(line)
    course = course_of(reading, width)
    assert course.width == width
    assert course.tones[0].first == 0
    assert course.tones[-1].last == len(line) - 1
    assert all(after.first in (before.last, before.last + 1) for before, after in pairwise(course.tones))
    for tone in range(len(line)):
        column = course.column(tone)
        assert tone in course.tones[column]
        assert column in course.columns_of(reading.phrase_of(tone))


def row_of(app, name: str) -> str:
    return next(row for row in seen(app).splitlines() if name in row)


async def test_arrows_and_enter_go_to_a_phrase(stood) -> None:
    async with stood() as (app, pilot, player):
        await pilot.press("N")
        await pilot.pause()
        assert "2 phrases" in seen(app)
        await pilot.press("right", "enter")
        await pilot.pause()
        assert app.screen is app.stand
        assert (app.stand.session.phrase, app.stand.session.cursor) == (1, 7)
        assert player.asked[-1] == ("load", "now")


async def test_a_click_on_the_course_goes_there(stood) -> None:
    async with stood() as (app, pilot, _):
        await pilot.press("N")
        await pilot.pause()
        view = app.screen.query_one(CourseView)
        await pilot.click(CourseView, offset=(view.size.width - 2, 2))
        await pilot.pause()
        assert app.stand.session.phrase == 1


async def test_a_click_on_the_list_goes_there(stood) -> None:
    async with stood() as (app, pilot, _):
        await pilot.press("N")
        await pilot.pause()
        await pilot.click(LongList, offset=(6, 1))
        await pilot.pause()
        assert app.stand.session.phrase == 1


async def test_leaving_changes_nothing(stood) -> None:
    async with stood() as (app, pilot, player):
        await pilot.press("N", "right", "q")
        await pilot.pause()
        assert app.screen is app.stand
        assert app.stand.session.phrase == 0
        assert not player.asked


async def test_decided_phrases_are_marked_and_found(stood) -> None:
    """The sign stands in the columns of the phrase, the list says how many, and d goes there."""
    async with stood() as (app, pilot, _):
        session = app.stand.session
        await pilot.press("end", "left", "r")
        session.desk.finish()
        await pilot.press("home", "N")
        await pilot.pause()
        view = app.screen.query_one(CourseView)
        held = session.reading.phrase_of(10)
        # The panel's border and padding stand before the view.
        signs = row_of(app, "by hand *")[view.region.x + GUTTER :]
        assert signs.count("*") == 1
        assert view._course.phrase_at(signs.index("*")) == held
        assert "* 1 by hand" in row_of(app, f"  {held + 1}  tones ")
        await pilot.press("d", "enter")
        await pilot.pause()
        assert session.phrase == held


async def test_the_sound_is_shown_where_it_is(stood) -> None:
    async with stood() as (app, pilot, player):
        await pilot.press("l", "l", "7")
        player.play()
        place = next(event.onset for event in app.stand.session.performance.events if event.source == 8)
        player.at(place + 0.01)
        await pilot.press("N")
        await pilot.pause(0.3)
        view = app.screen.query_one(CourseView)
        ruler = seen(app).splitlines()[view.region.y][view.region.x :]
        assert ruler[GUTTER + view._course.column(8)] == app.stand.signs.playing


@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
async def test_two_thousand_tones_in_plain_ascii(stood, size) -> None:
    """All signs plain, every phrase to be reached, no row wider than the terminal."""
    tones = tuple(Tone(k * 0.5, 0.5, pitch_from_midi(60 + (k * 7 + k // 9) % 15)) for k in range(2000))
    async with stood(size, ascii=True) as (app, pilot, _):
        session = Session(Line(tones), FakePlayer(), reads_later=True)
        app.stand.put(Opened(Path("long"), session, Card("Long")))
        await pilot.press("N")
        await pilot.pause()
        assert isinstance(app.screen, WholePiece)
        text = seen(app)
        assert text.isascii()
        assert "2,000 tones" in text
        assert max(map(len, text.splitlines())) <= size[0]
        await pilot.press("end", "enter")
        await pilot.pause()
        assert session.phrase == len(session.reading.phrases) - 1


async def test_the_first_frame_of_the_map_is_its_last(stood, monkeypatch: pytest.MonkeyPatch):
    """Its list is arranged for its size when it is first drawn, by what Textual offers to everyone."""
    drawn: list[list[str]] = []
    own = Compositor.render_full_update

    def noted(compositor: Compositor, simplify: bool = False):
        update = own(compositor, simplify)
        drawn.append([strip.text.rstrip() for strip in compositor.render_strips()])
        return update

    async with stood() as (app, pilot, _player):
        monkeypatch.setattr(Compositor, "render_full_update", noted)
        await pilot.press("N")
        await until(pilot, lambda: isinstance(app.screen, WholePiece) and drawn)
        await pilot.pause(0.3)
        assert any("phrase" in row or "tones" in row for row in drawn[0])
        assert drawn[0] == drawn[-1] == [strip.text.rstrip() for strip in app.screen._compositor.render_strips()]
    assert "_size_updated" not in vars(Scrolled)
