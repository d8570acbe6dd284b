"""The questions' screen: each kind asked, answered by key, mouse and keyboard, and the loop afterwards as it was."""

from __future__ import annotations

import threading
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from screen_player import FakePlayer
from seen_screen import seen, until

from earloop.capture.messages import Answer, Frame, Report
from earloop.capture.sources import Source
from earloop.coaching.question import QUESTION_KINDS
from earloop.coaching.sounds import one_after_another
from earloop.hearing.tones_sung import SungTone
from earloop.journal import Journal
from earloop.screen.app import EarloopApp, make_app
from earloop.screen.asking.ask_screen import AskScreen
from earloop.screen.stand import asking as stand_asking
from earloop.session.asking import Asking
from earloop.session.sound_choices import SoundChoices

ROOT = Path(__file__).parents[2]
LIGHTHOUSE = ROOT / "phrases" / "16-the-lighthouse.musicxml"


@asynccontextmanager
async def asked(
    monkeypatch: pytest.MonkeyPatch, *kinds: str, path: Path = LIGHTHOUSE, count: int = 8, **words: Any
) -> AsyncIterator[tuple[EarloopApp, Any, FakePlayer]]:
    """The Lighthouse on the stand and the first question of a spell of these kinds asked."""

    def spell(session: Any) -> Asking:
        phrases = range(len(session.reading.phrases))
        return Asking(session, phrases, kinds=kinds or None, count=count, seed=4)

    monkeypatch.setattr(stand_asking, "_spell_on", spell)
    player = FakePlayer()
    app = make_app(path, player=player, **words)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        player.at(3.0)
        player.asked.clear()
        await pilot.press("A")
        await until(pilot, lambda: isinstance(app.screen, AskScreen) and app.screen.asking.question is not None)
        await until(pilot, lambda: "question 1 of" in seen(app))
        yield app, pilot, player


def asking_of(app: EarloopApp) -> Asking:
    assert isinstance(app.screen, AskScreen)
    return app.screen.asking


def wrong_key(asking: Asking) -> str:
    assert asking.question is not None
    return next(answer.key for answer in asking.question.answers if answer != asking.question.right_answer)


@pytest.mark.parametrize("kind", QUESTION_KINDS)
async def test_each_kind_is_asked_and_answered(monkeypatch, kind):
    """It sounds once; the right key gets one calm word, a wrong one a sentence and both sounds."""
    async with asked(monkeypatch, kind) as (app, pilot, player):
        asking = asking_of(app)
        question = asking.question
        assert question is not None
        assert ("loops", 1) in player.asked
        assert player.performance == one_after_another(question.sound)[0]
        said = " ".join(seen(app).split())
        assert question.words in said.replace("♯", "#")
        assert all(answer.words.replace("#", "♯") in said for answer in question.answers)
        await pilot.press(question.right_answer.key)
        await pilot.pause()
        assert "Yes." in seen(app)
        assert not player.place.playing
        await pilot.press("enter")
        await until(pilot, lambda: "question 2 of" in seen(app))
        second = asking.question
        await pilot.press(wrong_key(asking))
        await pilot.pause()
        outcome = asking.outcome
        assert outcome is not None
        assert not outcome.right
        assert player.performance == one_after_another(outcome.sounds)[0]
        assert [part.words.split(":")[0] for part in outcome.sounds] == ["yours", "right"]
        assert second is not None
        assert outcome.sounds[1].performance == second.right_answer.sound
        assert "You said" in seen(app)


def tune_of(asking: Asking, place: int, octave: int = 48) -> list[int]:
    """Keys that mean an answer: the longest way, so that it can't be taken for another."""
    by = asking.question.by_tones
    return [octave + pc for pc in max(sorted(by.tunes[place]), key=len)]


@pytest.mark.parametrize("kind", QUESTION_KINDS)
async def test_a_keyboard_answers_every_kind(monkeypatch, kind):
    """In any octave. Tones played after the question has sounded count, not those played while it sounds."""
    async with asked(monkeypatch, kind) as (app, pilot, player):
        asking = asking_of(app)
        said = " ".join(seen(app).split())
        assert f"sing or play {asking.question.by_tones.what}" in said
        for key in tune_of(asking, asking.question.right):
            player.play_on_a_keyboard(key)
        await pilot.pause(0.15)
        assert asking.outcome is None
        player.run_out()
        await until(pilot, lambda: asking.sounding is None)
        await pilot.pause(0.15)
        for key in tune_of(asking, asking.question.right):
            player.play_on_a_keyboard(key)
        await until(pilot, lambda: asking.outcome is not None)
        assert asking.outcome.right
        assert "sing or play" not in seen(app)


@pytest.mark.parametrize("kind", QUESTION_KINDS)
async def test_every_kind_can_be_sung_and_a_wrong_answer_plays_both(monkeypatch, kind):
    """What a wrong answer means is taken for it: a sentence, and both are heard."""
    voice = Voice()
    monkeypatch.setattr("earloop.screen.asking.ask_screen.Capture", lambda: voice)
    async with asked(monkeypatch, kind) as (app, pilot, player):
        asking = asking_of(app)
        place = [k for k in range(len(asking.question.answers)) if k != asking.question.right][-1]
        assert "s sing it" in seen(app)
        voice.midis = [key + 0.3 for key in tune_of(asking, place, 60)]
        await pilot.press("s")
        await until(pilot, lambda: asking.outcome is not None)
        await pilot.pause(0.1)
        assert asking.outcome.place == place
        assert "You sang" in seen(app)
        assert player.performance == one_after_another(asking.outcome.sounds)[0]
        assert [part.words.split(":")[0] for part in asking.parts] == ["yours", "right"]


class Voice:
    """A listener that hears its tones as soon as it is asked to."""

    def __init__(self) -> None:
        self.midis: list[float] = []
        self.given, self.closed = [], threading.Event()

    def start(self, source: Source) -> None:
        self.since = time.monotonic()

    def trace(self, begin: float, end: float | None = None) -> list[Frame]:
        return [Frame(begin + 0.01, self.midis[0], -20.0)]

    def answer(self, begin: float, end: float) -> int:
        self.given.append(Answer(1, begin, end, tuple(SungTone(0.0, 0.8, midi) for midi in self.midis)))
        return 1

    def answers(self) -> list[Answer]:
        given, self.given = self.given, []
        return given

    def report(self) -> Report:
        return Report((), "microphone", "", time.monotonic() + 2.0, 1)

    def close(self) -> None:
        self.closed.set()


async def test_it_can_be_sung_in_any_octave(monkeypatch):
    """`s` listens; the tone that was held answers, and the microphone is let go of on leaving."""
    voice = Voice()
    monkeypatch.setattr("earloop.screen.asking.ask_screen.Capture", lambda: voice)
    async with asked(monkeypatch, "sing_held") as (app, pilot, player):
        asking = asking_of(app)
        voice.midis = [asking.question.right_answer.pitch.midi + 12.3]
        await pilot.press("s")
        assert not player.place.playing
        await until(pilot, lambda: asking.outcome is not None)
        await pilot.pause(0.1)
        assert asking.outcome.right
        assert "Yes." in seen(app)
        await pilot.press("q", "q")
        await until(pilot, lambda: app.screen is app.stand)
        await until(pilot, voice.closed.is_set)


async def test_a_moved_and_tuned_player_is_answered_at_its_own_pitch(monkeypatch):
    """Three semitones up at A4 = 452 Hz: the singer sings what is heard, not what is written."""
    voice = Voice()
    monkeypatch.setattr("earloop.screen.asking.ask_screen.Capture", lambda: voice)
    async with asked(monkeypatch, "next_lower") as (app, pilot, _):
        asking = asking_of(app)
        asking.sounds_above = SoundChoices(a4=452.0, transpose=3).above_written
        voice.midis = [asking.question.right_answer.pitch.midi + 3.46]
        await pilot.press("s")
        await until(pilot, lambda: asking.outcome is not None)
        assert asking.outcome.right


async def test_where_no_few_tones_tell_answers_apart_only_keys_are_offered(monkeypatch):
    async with asked(monkeypatch, "which_line") as (app, pilot, player):
        asking = asking_of(app)
        asking.question = replace(asking.question, by_tones=None)
        await until(pilot, lambda: "no few tones tell these answers apart" in seen(app))
        assert "sing" not in seen(app)
        await pilot.press("s")
        assert not app.screen.sung.listening
        player.run_out()
        await until(pilot, lambda: asking.sounding is None)
        player.play_on_a_keyboard(60)
        await pilot.pause(0.2)
        assert asking.outcome is None


async def test_a_foreign_tone_is_told_calmly_and_the_question_stays(monkeypatch):
    """It is no wrong answer: nothing sounds, and the next tone may still be right."""
    async with asked(monkeypatch, "next_lower") as (app, pilot, player):
        asking = asking_of(app)
        player.run_out()
        await until(pilot, lambda: asking.sounding is None)
        named = {answer.pitch.pc for answer in asking.question.answers}
        foreign = next(pc for pc in range(12) if pc not in named)
        player.play_on_a_keyboard(60 + foreign)
        await until(pilot, lambda: "That is none of these: it was" in seen(app))
        assert asking.outcome is None
        assert not player.place.playing
        player.play_on_a_keyboard(asking.question.right_answer.pitch.midi)
        await until(pilot, lambda: "Yes." in seen(app))
        assert "none of these" not in seen(app)


async def test_not_knowing_tells_the_answer(monkeypatch):
    async with asked(monkeypatch, "lean_way") as (app, pilot, player):
        await pilot.press("x")
        await pilot.pause()
        asking = asking_of(app)
        assert asking.outcome is not None
        assert asking.outcome.sentence in " ".join(seen(app).split())
        assert player.performance.events == asking.question.right_answer.sound.events


async def test_the_loop_is_as_it_was_afterwards(monkeypatch):
    """Silent, at its place, with what was muted muted again, and its own performance loaded."""
    async with asked(monkeypatch, "which_degree") as (app, pilot, player):
        session = app.stand.session
        await pilot.press("q")
        await until(pilot, lambda: app.screen is app.stand)
        session.turn_muted("single")
        session.turn_alone("upper")
        player.asked.clear()
        player.at(2.5)
        await pilot.press("A")
        await until(pilot, lambda: isinstance(app.screen, AskScreen) and player.place.playing)
        assert ("mute", "single", False) in player.asked
        assert ("alone", None) in player.asked
        player.asked.clear()
        await pilot.press("space", "q")
        await until(pilot, lambda: app.screen is app.stand)
        assert player.asked[-7:] == [
            ("stop",), ("loops", None), ("mute", "single", True), ("alone", "upper"), ("stop",), ("load", "now"),
            ("seek", 2.5),
        ]  # fmt: skip
        assert player.performance == session.performance
        assert not player.place.playing


async def test_a_spell_ends_with_two_sentences_and_is_noted(monkeypatch, journal_file):
    """What was sure and what to go back to; each answer is in the journal."""
    async with asked(monkeypatch, "which_degree", "which_line", count=2) as (app, pilot, _):
        asking = asking_of(app)
        first = asking.question
        await pilot.press(first.right_answer.key, "enter")
        await until(pilot, lambda: "question 2 of 2" in seen(app))
        second = asking.question
        assert second.kind != first.kind
        await pilot.press(wrong_key(asking), "enter")
        await until(pilot, lambda: "Go back to" in seen(app))
        summary = asking.spell.summary()
        assert summary.count(".") == 2
        await pilot.press("enter")
        await until(pilot, lambda: app.screen is app.stand)
        assert "Go back to" in seen(app)
        assert app.diary.flush(5)
    with Journal.open(journal_file) as journal:
        noted = [happening for happening in journal.happenings() if happening.kind == "answered"]
    assert [(h.what, h.item, h.result) for h in noted] == [
        (first.kind, first.item, 1.0),
        (second.kind, second.item, 0.0),
    ]
    assert noted[0].detail["asked"] == first.right_answer.words
    assert noted[0].detail["difficulty"] == first.difficulty
    assert noted[0].phrase == first.phrase


async def test_it_can_be_heard_again_slower_and_softer(monkeypatch):
    async with asked(monkeypatch, "which_page") as (app, pilot, player):
        player.asked.clear()
        await pilot.press("space")
        assert player.asked[-1] == ("play",)
        await pilot.press("minus", "less_than_sign")
        await pilot.pause()
        assert ("tempo", 0.95) in player.asked
        assert ("level", 0.45) in player.asked
        assert "tempo 95 %" in seen(app)


async def test_plain_signs_only(monkeypatch):
    """In --ascii nothing but ASCII is on the screen, answered or not."""
    async with asked(monkeypatch, "sing_held", "changed_tone", ascii=True) as (app, pilot, player):
        player.at(0.0)
        for _ in range(4):
            await pilot.pause(0.1)
            assert seen(app).isascii()
            await pilot.press(wrong_key(asking_of(app)))
            await pilot.pause(0.1)
            assert seen(app).isascii()
            await pilot.press("enter")
            await pilot.pause(0.2)


async def test_an_answer_can_be_clicked(monkeypatch):
    async with asked(monkeypatch, "lean_way") as (app, pilot, _):
        await pilot.click("#ask-answers", offset=(12, 0))
        await pilot.pause()
        outcome = asking_of(app).outcome
        assert outcome is not None
        assert outcome.given == "up"


async def test_nothing_to_ask_is_said(monkeypatch, tmp_path):
    """A phrase of one tone supports no question."""
    path = tmp_path / "one.abc"
    path.write_text("X:1\nT:One\nM:4/4\nL:1/4\nK:C\nC4 |]\n", encoding="utf-8")
    app = make_app(path, player=FakePlayer())
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.stand is not None and app.stand.opened is not None)
        await pilot.press("A")
        await until(pilot, lambda: "too little here" in seen(app))
        assert app.screen is app.stand


async def test_a_chosen_keyboard_is_listened_to_without_a_key(monkeypatch):
    """From the question on, and on after a tone that is none of the answers, as the sentence asks for another try."""
    voice = Voice()
    monkeypatch.setattr("earloop.screen.asking.ask_screen.Capture", lambda: voice)
    monkeypatch.setattr(stand_asking, "remembered_input", lambda: Source("midi", "keys"))
    async with asked(monkeypatch, "next_lower") as (app, pilot, player):
        asking = asking_of(app)
        named = {answer.pitch.pc for answer in asking.question.answers}
        voice.midis = [60 + next(pc for pc in range(12) if pc not in named)]
        player.run_out()
        await until(pilot, lambda: "That is none of these: it was" in seen(app))
        assert asking.outcome is None
        assert "s don't listen" in seen(app)
        voice.midis = [asking.question.right_answer.pitch.midi]
        await until(pilot, lambda: "Yes." in seen(app))
        assert asking.given == asking.question.right


async def test_a_sung_tone_that_is_no_answer_asks_for_another(monkeypatch):
    """`s` once is enough until the question is answered."""
    voice = Voice()
    monkeypatch.setattr("earloop.screen.asking.ask_screen.Capture", lambda: voice)
    async with asked(monkeypatch, "next_lower") as (app, pilot, _):
        asking = asking_of(app)
        named = {answer.pitch.pc for answer in asking.question.answers}
        voice.midis = [60 + next(pc for pc in range(12) if pc not in named)]
        await pilot.press("s")
        await until(pilot, lambda: "That is none of these: it was" in seen(app))
        voice.midis = [asking.question.right_answer.pitch.midi + 0.2]
        await until(pilot, lambda: asking.outcome is not None)
        assert asking.outcome.right
