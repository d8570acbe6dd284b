"""Comparing two readings from the stand: which other, the list, hearing both in turn, taking over, undoing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from handmade_reading import handmade_session
from screen_player import FakePlayer
from seen_screen import matches, seen, until
from textual.pilot import Pilot
from textual.widgets import Input, Static

from earloop.line import Span
from earloop.reading import NONE_DECIDED, Decisions, read
from earloop.scores.kept_form import parse
from earloop.screen.app import EarloopApp, make_app
from earloop.screen.comparing.comparing_screen import KEYS, LOOKS_A_SECOND, ComparingScreen
from earloop.screen.keys_text import keys_text
from earloop.screen.long_list import LongList
from earloop.session.comparing import Comparing

MINE = 'format = 1\n[[tone]]\nnumber = 3\nlevel = 5\n[[tone]]\nnumber = 8\nleans_to = 0\nword = "far bank"\n'
TEACHER = "format = 1\n[[tone]]\nnumber = 5\nlevel = 5\nphrase_ends = true\n"


@pytest.fixture
def kept(tune: Path) -> Path:
    """What I decided about the tune, and a copy of another's decisions beside it."""
    path = tune.with_name(tune.name + ".earloop.toml")
    path.write_text(MINE, encoding="utf-8")
    tune.with_name(tune.name + ".lesson.earloop.toml").write_text(TEACHER, encoding="utf-8")
    return path


async def stand_on(pilot: Pilot[Any], app: EarloopApp) -> None:
    await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)


async def compare_with(pilot: Pilot[Any], app: EarloopApp, place: int) -> Comparing:
    """C, then the reading at that place of the list."""
    await pilot.press("C")
    await until(pilot, lambda: bool(app.screen.query(LongList)) and not isinstance(app.screen, ComparingScreen))
    await pilot.press(*["down"] * place, "enter")
    await until(pilot, lambda: isinstance(app.screen, ComparingScreen) and app.screen.is_current)
    await pilot.pause()
    assert isinstance(app.screen, ComparingScreen)
    return app.screen.comparing


async def test_differences_stand_in_picture_and_list(tune: Path, kept: Path) -> None:
    """Against the proposal at 80×24: figures, both sides' rows, the sign of difference, a sentence with both."""
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        comparing = await compare_with(pilot, app, 0)
        text = seen(app)
        assert "you and the proposal" in text
        assert f"1 of {len(comparing.differences)} differences" in text
        assert "lines: 12 of 12" in text
        assert "you line" in text
        assert "other line" in text
        assert "≠" in text
        assert "q back" in text
        word = next(k for k, d in enumerate(comparing.differences) if d.kind == "word")
        await pilot.press("home", *["down"] * word)
        await pilot.pause()
        assert 'you write "far bank" over it, the other writes none' in seen(app)
        await pilot.press("enter")
        await pilot.pause()
        assert app.stand.session.cursor == 7


async def test_plain_signs_only(tune: Path, kept: Path) -> None:
    app = make_app(tune, player=FakePlayer(), ascii=True)
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        await compare_with(pilot, app, 0)
        shown = seen(app)
        assert shown.isascii()
        assert "!" in shown


async def test_one_and_then_the_other_is_heard(tune: Path, kept: Path) -> None:
    """Space sounds mine, then at the seam the other; the screen says whose it is; space again stops."""
    player = FakePlayer()
    app = make_app(tune, player=player)
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        comparing = await compare_with(pilot, app, 0)
        mine, other = comparing.pair()
        player.asked.clear()
        await pilot.press("space")
        await pilot.pause()
        assert player.asked[-2:] == [("load", "now"), ("play",)]
        assert player.performance is not None
        assert player.performance.length == pytest.approx(mine.length + other.length)
        assert [e.midi for e in player.performance.events] == [e.midi for e in (*mine.events, *other.events)]
        assert "sounding: you" in seen(app)
        player.at(mine.length + 0.1)
        await until(pilot, lambda: "sounding: the other" in seen(app))
        await pilot.press("space")
        await pilot.pause()
        assert not player.place.playing
        await pilot.press("q")
        await pilot.pause()
        assert player.performance.length == pytest.approx(app.stand.session.performance.length)
        assert player.performance is app.stand.session.performance


async def test_taking_over_one_is_kept_at_once_and_undone(tune: Path, kept: Path) -> None:
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        session = app.stand.session
        before, text = session.desk.decided, kept.read_text(encoding="utf-8")
        comparing = await compare_with(pilot, app, 0)
        word = next(k for k, d in enumerate(comparing.differences) if d.kind == "word")
        count = len(comparing.differences)
        await pilot.press("home", *["down"] * word, "t")
        await until(pilot, lambda: not session.desk.decided.words)
        assert len(comparing.differences) == count - 1
        await until(pilot, lambda: not parse(kept.read_text(encoding="utf-8"), "kept").decided.words)
        assert "Taken over: tone 8" in seen(app)
        await pilot.press("z")
        await pilot.pause()
        assert session.desk.decided == before
        await until(
            pilot, lambda: parse(kept.read_text(encoding="utf-8"), "kept").decided == parse(text, "kept").decided
        )
        await pilot.press("Z")
        assert not session.desk.decided.words


async def test_taking_all_gives_the_others_reading_and_mine_stays_in_a_copy(tune: Path, kept: Path) -> None:
    """The teacher's file beside the score is offered; after A the readings are the same, also when opened again."""
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        session = app.stand.session
        mine = session.desk.decided
        comparing = await compare_with(pilot, app, 2)
        assert comparing.others == parse(TEACHER, "lesson").decided
        await pilot.press("A")
        await pilot.pause()
        assert session.desk.decided == comparing.others
        await until(pilot, lambda: comparing.differences == ())
        assert "no differences" in seen(app)
        copy = tune.with_name(tune.name + ".before1.earloop.toml")
        assert parse(copy.read_text(encoding="utf-8"), "copy").decided == mine
        assert session.reading == read(session.line, comparing.others)
        await until(pilot, lambda: parse(kept.read_text(encoding="utf-8"), "kept").decided == comparing.others)
        await pilot.press("z")
        await pilot.pause()
        assert session.desk.decided == mine


async def test_before_and_after_the_lesson(tune: Path) -> None:
    """What this session decided, beside how it began."""
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        await pilot.press("right", "right", "U", "b")
        comparing = await compare_with(pilot, app, 1)
        assert comparing.others == NONE_DECIDED
        assert {"line", "bridge"} <= {d.kind for d in comparing.differences}
        await pilot.press("A", "q")
        await pilot.pause()
        assert app.stand.session.desk.decided == NONE_DECIDED


async def test_a_bad_file_brings_the_choice_back_with_a_sentence(tune: Path) -> None:
    tune.with_name(tune.name + ".bad.earloop.toml").write_text("format = 1\n[[tone]]\nlevel = 3\n", encoding="utf-8")
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        await pilot.press("C")
        await until(pilot, lambda: bool(app.screen.query(LongList)))
        await pilot.press("down", "down", "enter")
        await until(pilot, lambda: "line 2: this tone lacks number" in seen(app))
        await pilot.press("q")


async def test_any_file_can_be_chosen(tune: Path, tmp_path: Path) -> None:
    """A transposed copy's decisions, found with the chooser, are brought to this score's tones."""
    folder = tmp_path / "teacher"
    folder.mkdir()
    other = folder / "higher.abc"
    other.write_text("X:1\nT:Higher\nM:4/4\nL:1/4\nK:A\nA, c B, d | c e d2 | B A3 | c B, A,2 |]\n", encoding="utf-8")
    (folder / "higher.abc.earloop.toml").write_text(TEACHER, encoding="utf-8")
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        await pilot.press("C")
        await until(pilot, lambda: bool(app.screen.query(LongList)))
        await pilot.press("end", "enter")
        await until(pilot, lambda: "Which reading?" in seen(app))
        await pilot.press("g")
        await pilot.pause()
        app.screen.query_one(Input).value = str(other)
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, ComparingScreen))
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, ComparingScreen)
        assert "another edition" in seen(app)
        assert screen.comparing.others == Decisions(levels={4: 5}, phrase_ends={4: True})


async def test_pictures_of_a_comparison(tune: Path) -> None:
    """Both looks at 80×24, of two readings made by hand; a click on a key's name does what the key does."""
    for plain in (False, True):
        player = FakePlayer()
        app = make_app(tune, player=player, ascii=plain)
        async with app.run_test(size=(80, 24)) as pilot:
            await stand_on(pilot, app)
            session = handmade_session(player)
            mine = session.reading
            other = replace(
                mine,
                phrases=(Span(0, 3), Span(4, 11)),
                voices=(*mine.voices[:7], "single", "single", *mine.voices[9:]),
                weights=replace(mine.weights, level=(5, 2, 0, 1, 4, 3, 1, 1, 4, 2, 1, 5)),
                leans=(),
                links=mine.links[1:],
                words=(),
            )
            app.push_screen(ComparingScreen(Comparing(session, "lesson", NONE_DECIDED, other), app.stand.signs))
            await pilot.pause()
            matches(seen(app), f"comparing-80x24{'-plain' if plain else ''}")
            keys = app.screen.query_one("#comparing-keys")
            at = keys.region.offset
            await pilot.click(offset=(at.x + 1 + keys_text(KEYS, app.stand.signs).plain.index("space"), at.y))
            await pilot.pause()
            assert player.place.playing


async def test_a_click_below_the_picture_chooses_nothing(tune: Path, kept: Path) -> None:
    """In a high window: a click on a tone of the last system goes to its difference, one on the empty rows to none."""
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 60)) as pilot:
        await stand_on(pilot, app)
        comparing = await compare_with(pilot, app, 0)
        rows = seen(app).splitlines()
        tones = max(y for y, row in enumerate(rows) if row.startswith(" tones "))
        eighth = rows[tones].index("A4")
        assert rows[tones + 10].strip() == ""
        await pilot.click(offset=(eighth, tones + 10))
        await pilot.pause()
        assert comparing.at == 0
        await pilot.click(offset=(eighth, tones))
        await pilot.pause()
        assert comparing.present is not None
        assert comparing.present.first == 7


async def test_words_that_stay_are_not_laid_out_anew(tune: Path, kept: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While nothing sounds the looks leave the line of sound alone; once it sounds that line is written."""
    app = make_app(tune, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await stand_on(pilot, app)
        await compare_with(pilot, app, 0)
        written: list[str | None] = []
        update = Static.update

        def noted(self: Static, *content: Any, **words: Any) -> None:
            written.append(self.id)
            update(self, *content, **words)

        monkeypatch.setattr(Static, "update", noted)
        await pilot.pause(5 / LOOKS_A_SECOND)
        assert "heard" not in written
        await pilot.press("space")
        await pilot.pause(2 / LOOKS_A_SECOND)
        assert written.count("heard") == 1
