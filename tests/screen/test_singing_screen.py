"""The singing screen: what it asks, what it shows while one sings, how the answer stands there; and how it is left."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from seen_screen import matches, seen, until

from earloop.capture.sources import NOTHING, Source
from earloop.coaching.plan import Plan, Step
from earloop.screen.singing.singing_screen import SingingScreen
from earloop.session.lesson import Lesson
from tests.capture.rooms import melody, sung_file
from tests.hearing import takes


def screen_of(app) -> SingingScreen:
    assert isinstance(app.screen, SingingScreen)
    return app.screen


async def opened(app, pilot, source: Source) -> SingingScreen:
    app.stand._input = source
    await pilot.press("7", "V")
    await until(pilot, lambda: isinstance(app.screen, SingingScreen))
    await pilot.pause(0.1)
    return screen_of(app)


@pytest.mark.parametrize("plain", [False, True])
async def test_it_shows_the_tones_asked_for(stood, plain: bool) -> None:
    """Every degree of the phrase, at its height and in its column; in plain mode nothing but ASCII."""
    async with stood(ascii=plain) as (app, pilot, _):
        screen = await opened(app, pilot, NOTHING)
        await until(pilot, lambda: "listening to nothing" in seen(app))
        text = seen(app)
        matches(text, "singing-plain" if plain else "singing")
        assert all(len(line) <= 80 for line in text.splitlines())
        assert len(text.splitlines()) <= 24
        assert "headphones" in text
        assert "stop at pain" in text
        if plain:
            assert text.isascii()
        await pilot.press("question_mark")
        await until(pilot, lambda: "keys and meanings" in seen(app))
        if plain:
            assert seen(app).isascii()
        await pilot.press("q", "q")
        await until(pilot, lambda: app.screen is app.stand)
        assert screen.singing.capture.process_number is None


async def test_a_missing_microphone_is_one_sentence_and_the_screen_goes_on(stood) -> None:
    async with stood() as (app, pilot, player):
        await opened(app, pilot, Source("microphone", "no such thing", "null"))
        await until(pilot, lambda: "no microphone is called" in seen(app))
        await pilot.press("space")
        assert player.place.playing
        await pilot.press("n", "1", "plus")
        await until(pilot, lambda: "1 skeleton" in seen(app))


async def test_an_answer_in_ones_own_time_is_traced_and_judged(stood, tmp_path: Path) -> None:
    """The line sounded; then a voice sings it with the second tone 65 cents sharp: traced live, told tone by tone."""
    async with stood() as (app, pilot, player):
        screen = await opened(app, pilot, NOTHING)
        keys = [tone.pitch.midi for tone in screen.singing.session.layer.tones]
        events = takes.cents_off(melody(*keys), 1, 65.0)
        song = sung_file(tmp_path / "song.wav", events, before=0.3, tempo=120)
        await pilot.press("a", "a")
        assert "own time" in seen(app)
        await pilot.press("space")
        await pilot.pause(0.1)
        player.stop()
        await until(pilot, lambda: "your turn" in seen(app))
        screen.singing.listen(Source("file", str(song)))
        # While it goes on: a needle with hertz and cents, and the trace on the tones' own rows.
        await until(pilot, lambda: re.search(r"now  \S+ \d+ Hz, [+-]\d+ on \d", seen(app)) is not None)
        await until(pilot, lambda: "━━" in seen(app).split("now")[0])
        await until(pilot, lambda: "answer 1:" in seen(app), 20)
        text = seen(app)
        assert f"answer 1: {len(keys) - 1} of {len(keys)} tones right" in text
        cents = next(line for line in text.splitlines() if line.startswith(" cents"))
        assert re.search(r"\+(5|6|7)\d!", cents)
        assert cents.count("!") == 1
        assert "65 cents high on tone 2" in text or re.search(r"\d\d cents high on tone 2", text)
        assert screen.singing.judged[0].share == pytest.approx(1 - 1 / len(keys))


async def test_leaving_puts_the_session_back(stood) -> None:
    """The answer gap, the loop and the layer on the stand are as the performer left them."""
    async with stood() as (app, pilot, player):
        session = app.stand.session
        gap = session.choices.answer_gap
        screen = await opened(app, pilot, NOTHING)
        assert session.choices.answer_gap
        await pilot.press("space", "a", "q")
        await until(pilot, lambda: app.screen is app.stand)
        assert session.choices.answer_gap == gap
        assert not player.place.playing
        assert player.asked[-1][0] == "load"
        assert ("loops", None) in player.asked
        assert screen.singing.capture.process_number is None


async def test_a_key_in_the_last_lines_can_be_clicked(stood) -> None:
    async with stood() as (app, pilot, _):
        screen = await opened(app, pilot, NOTHING)
        line = next(row for row in seen(app).splitlines() if "how you answer" in row)
        await pilot.click("#singing-keys", offset=(line.index("how you") + 1, 0))
        await until(pilot, lambda: screen.singing.way == "along")


async def test_tolerances_are_the_performers(stood) -> None:
    async with stood() as (app, pilot, _):
        screen = await opened(app, pilot, NOTHING)
        await pilot.press("left_parenthesis", "R", "M")
        measure = screen.singing.measure
        assert (measure.tolerance, measure.relative, measure.on_the_beat) == (45.0, True, True)
        await until(pilot, lambda: "within 45 cents" in seen(app) and "your own pitch" in seen(app))
        await pilot.press("M")
        assert (screen.singing.measure.on_the_beat, screen.singing.measure.beat_ms) == (True, 50.0)
        await pilot.press("M", "left_curly_bracket")
        assert screen.singing.measure == replace(measure, on_the_beat=False, held=0.5)
        for _ in range(30):
            await pilot.press("left_parenthesis", "left_curly_bracket")
        assert (screen.singing.measure.tolerance, screen.singing.measure.held) == (10.0, 0.0)


async def test_a_plan_waits_while_one_sings_back_and_counts_what_was_sung(stood, tmp_path: Path) -> None:
    """The real listener hears a recording; the pretended player plays the line to its end."""
    async with stood() as (app, pilot, player):
        await pilot.press("7")
        session = app.stand.session
        step = Step("ornamented", "sing", 2, 100, 5.0)
        app.stand.lesson = lesson = Lesson(session, Plan(session.phrase, 10, (step, step)), app.stand.rest)
        lesson.start(0)
        keys = [tone.pitch.midi for tone in session.layer.tones]
        song = sung_file(tmp_path / "song.wav", melody(*keys, length=0.5), tempo=120)
        screen = await opened(app, pilot, Source("file", str(song)))
        assert lesson.state == "held"
        screen.singing.choose_way("own time")
        await pilot.press("space")
        await pilot.pause(0.3)
        player.stop()
        player.place = replace(player.place, ended=player.place.ended + 1)
        await until(pilot, lambda: len(screen.singing.judged) == 1, 30)
        await pilot.press("q")
        await until(pilot, lambda: app.screen is app.stand)
        await until(pilot, lambda: "1 of 2 passes done" in seen(app))
        assert lesson.state == "held"
