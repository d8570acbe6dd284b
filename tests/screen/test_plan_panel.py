"""Today's plan on the screen: changed, started, going on by itself, what is due, at 80 × 24 and in plain ASCII."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from seen_screen import seen, until

from earloop.coaching.plan import PAUSE
from earloop.journal import Happening, Journal
from earloop.screen.planning.plan_panel import PlanPanel


async def opened(app, pilot) -> PlanPanel:
    await pilot.press("D")
    await until(pilot, lambda: isinstance(app.screen, PlanPanel) and app.screen.due is not None)
    await pilot.pause()
    return app.screen


def choose(panel: PlanPanel, score: str) -> None:
    """The cursor on what is due of that score."""
    places = [place for place, line in enumerate(panel.lines) if line.due is not None and line.due.item.score == score]
    panel.query_one("LongList").choose(places[0])


async def test_steps_are_changed_and_kept(stood, journal_file: Path):
    """Passes, tempo, way, order, leaving out, minutes; the plan comes back as it was left."""
    async with stood() as (app, pilot, player):
        app.stand.session.practising.diary = app.diary
        panel = await opened(app, pilot)
        first, second, third = panel.plan.steps[:3]
        await pilot.press("right", "right", "plus", "y")
        changed = replace(first, passes=first.passes + 2, tempo=first.tempo + 5, way="sing")
        assert panel.plan.steps[0] == changed
        await pilot.press("d")
        assert panel.plan.steps[:2] == (second, changed)
        await pilot.press("up", "x")
        assert panel.plan.steps[:2] == (changed, third)
        assert f"{changed.passes} passes" in seen(app)
        kept = panel.plan
        await pilot.press("q")
        panel = await opened(app, pilot)
        assert panel.plan == kept
        app.stand.lesson = None
        panel.dismiss(None)
        await pilot.pause()
        panel = await opened(app, pilot)
        assert panel.plan == kept
        await pilot.press("greater_than_sign")
        await until(pilot, lambda: panel.ready and panel.plan.minutes == kept.minutes + 5)
        assert panel.plan.steps[0] == replace(first, tempo=first.tempo)
        assert ("play",) not in player.asked


async def test_enter_starts_a_step_and_it_goes_on_by_itself(stood):
    """Layer, tempo, gap and passes reach the player; the stand says where the plan is; the next step follows."""
    async with stood() as (app, pilot, player):
        panel = await opened(app, pilot)
        first, second = panel.plan.steps[:2]
        await pilot.press("enter")
        await until(pilot, lambda: app.screen is app.stand)
        assert ("loops", first.passes) in player.asked
        assert player.asked[-1] == ("play",)
        assert "Plan, step 1 of" in seen(app)
        await until(pilot, lambda: "plan 1 of" in seen(app))
        player.place = replace(player.place, playing=False, ended=1)
        await until(pilot, lambda: "Next: " in seen(app))
        await until(pilot, lambda: ("loops", second.passes) in player.asked, PAUSE + 5)
        assert app.stand.session.choices.layer == second.layer
        assert app.stand.session.choices.answer_gap == second.answered
        await pilot.press("space")
        await until(pilot, lambda: "waits" in seen(app))


async def test_what_is_due_is_gone_to(stood, journal_file: Path):
    """A layer of this score's second phrase: it is there when the panel closes. Another score's is named."""
    ago = datetime.now(UTC) - timedelta(days=60)
    async with stood() as (app, pilot, _):
        score = app.stand.session.practising.score = "here.abc"
        with Journal.open() as journal:
            journal.note(Happening(ago, score, "Here", 1, "sung", "held", "layer:held", 0.5))
            journal.note(
                Happening(ago, "/gone/there.abc", "There", 0, "answered", "which_line", "question:which_line", 0.0)
            )
        panel = await opened(app, pilot)
        await pilot.press("end")
        await pilot.pause()
        text = seen(app)
        assert "Due today" in text
        assert "phrase 2, held, last 50 % right" in text
        assert "question: which line, last 0 % right  (There)" in text
        dues = [
            place for place, line in enumerate(panel.lines) if line.due is not None and line.due.item.score == score
        ]
        panel.query_one("LongList").choose(dues[0])
        await pilot.press("enter")
        await until(pilot, lambda: app.screen is app.stand)
        assert (app.stand.session.phrase, app.stand.session.choices.layer) == (1, "held")
        panel = await opened(app, pilot)
        dues = [
            place for place, line in enumerate(panel.lines) if line.due is not None and line.due.item.score != score
        ]
        panel.query_one("LongList").choose(dues[0])
        await pilot.press("enter")
        await until(pilot, lambda: "not where it was" in seen(app))


async def test_how_it_went_is_noted(stood, journal_file: Path):
    async with stood() as (app, pilot, _):
        app.stand.session.practising.diary = app.diary
        await opened(app, pilot)
        await pilot.press("1")
        assert "Play a step first" in seen(app)
        await pilot.press("enter")
        await until(pilot, lambda: app.screen is app.stand)
        await opened(app, pilot)
        await pilot.press("3")
        assert "step 1 went well" in seen(app)
        assert app.diary.flush(5)
    with Journal.open() as journal:
        assert [h.result for h in journal.happenings() if h.result is not None] == [1.0]


async def test_a_journal_that_cannot_be_read_is_told(stood, journal_file: Path):
    """One sentence; the panel can be left."""
    journal_file.write_bytes(b"no journal " * 500)
    async with stood() as (app, pilot, _):
        await pilot.press("D")
        await until(pilot, lambda: "The journal can't be read" in seen(app))
        await pilot.press("x", "right", "r", "enter", "q")
        await until(pilot, lambda: app.screen is app.stand)


@pytest.mark.parametrize(("size", "plain"), [((80, 24), True), ((140, 40), False)])
async def test_it_fits_and_is_plain_where_asked(stood, size, plain):
    """Keys and steps are all there; not a sign beyond ASCII in plain mode."""
    async with stood(size=size, ascii=plain) as (app, pilot, _):
        await opened(app, pilot)
        text = seen(app)
        assert "propose anew" in text
        assert "q back" in text
        assert "skeleton" in text
        assert not plain or text.isascii()


async def test_a_rest_is_proposed_without_a_plan_too(stood):
    """After 25 minutes of work the stand says so, once."""
    async with stood() as (app, pilot, _):
        await pilot.press("space")
        app.stand.rest.worked = 25 * 60
        await until(pilot, lambda: "rest 5 now" in seen(app))
        assert "specialist decides" in " ".join(seen(app).replace("│", " ").split())
        await pilot.press("right")
        await pilot.pause(0.6)
        assert "rest 5 now" not in seen(app)


async def test_a_plan_that_ends_before_its_time_says_why(stood, journal_file: Path):
    """The phrase is short, and more passes than eight of a step are left to the player."""
    async with stood() as (app, pilot, _player):
        panel = await opened(app, pilot)
        for _ in range(8):
            asked = panel.plan.minutes + 5
            await pilot.press("greater_than_sign")
            await until(pilot, lambda asked=asked: panel.ready and panel.plan.minutes == asked)
        assert panel.plan.seconds < 60 * (panel.plan.minutes - 1)
        assert "left for another phrase" in " ".join(seen(app).replace("│", " ").split())
