"""Every kind of question answered through the real paths: keys on a JACK port into the engine, a sung vowel into a
microphone on a JACK server. The answers are taken from what the question sounds and from the line.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from fake_player import FakePlayer
from jack_server import jack_server

from earloop.capture.client import Capture
from earloop.capture.sources import Source
from earloop.coaching.by_tones import meant
from earloop.coaching.question import QUESTION_KINDS, Question, QuestionKind
from earloop.engine.client import Engine
from earloop.scores import load_line
from earloop.session.asking import Asking
from earloop.session.choices import Choices
from earloop.session.keyboard_answers import KeyboardAnswers
from earloop.session.session import Session
from earloop.session.sung_answers import SungAnswers
from earloop.sounding.outputs import OutputChoice
from tests.capture.jack_voice import RATE, JackVoice
from tests.capture.rooms import begun, melody, until
from tests.hearing import takes

pytestmark = [pytest.mark.jack]

LIGHTHOUSE = Path(__file__).parents[2] / "phrases" / "16-the-lighthouse.musicxml"
LINE = load_line(LIGHTHOUSE)
SUNG_KINDS: tuple[QuestionKind, ...] = ("which_degree", "which_line", "lean_way", "changed_tone", "which_page")


@pytest.fixture(scope="module")
def cable(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server for these tests alone: left running, it would be a sound device for tests that want none."""
    with jack_server(f"earloopanswers{os.getpid()}", tmp_path_factory.mktemp("answers")) as name:
        yield name


def tunes(question: Question, place: int) -> list[int]:
    """MIDI keys that mean the answer, the longest way round, near the middle of a voice."""
    by = question.by_tones
    assert by is not None
    tune = max(sorted(by.tunes[place]), key=len)
    return [57 + (pc - 57) % 12 for pc in tune]


def plainly_answered(session: Session, kind: QuestionKind) -> tuple[Asking, Question]:
    """A question whose right answer is understood at once: its tones don't come again later in what sounded."""
    for seed in range(5, 40):
        asking = Asking(session, range(len(session.reading.phrases)), kinds=(kind,), count=1, seed=seed)
        question = asking.next(sounding=False)
        assert question is not None
        assert question.by_tones is not None
        if meant(question.by_tones, tunes(question, question.right)).place == question.right:
            return asking, question
    raise AssertionError(f"no {kind} of 35 can be answered at once")


@contextmanager
def keyboard(name: str) -> Iterator[Any]:
    import rtmidi

    keys = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name=name)
    keys.open_virtual_port("out")
    try:
        yield keys
    finally:
        keys.delete()


def play(keys: Any, *tones: int) -> None:
    for key in tones:
        keys.send_message([0x90, key, 80])
        time.sleep(0.06)
        keys.send_message([0x80, key, 0])


def test_each_kind_is_played_on_a_keyboard(cable: str) -> None:
    """The right tones are right; those of a wrong answer are that answer, and both then sound from the engine.

    A run of tones that comes more than once in the skeleton is asked for again.
    """
    with keyboard("answering keys") as keys, Engine(OutputChoice("silent", listen="answering keys")) as engine:
        session = Session(LINE, engine, Choices(tempo=300))
        answers = KeyboardAnswers(engine)
        until(lambda: not engine.snapshot().notice and engine.snapshot().handled > 0)
        for kind in QUESTION_KINDS:
            asking = Asking(session, range(len(session.reading.phrases)), kinds=(kind,), count=2, seed=4)
            for wrong in (False, True) if kind in ("which_line", "changed_tone", "which_page") else (False,):
                question = asking.next(sounding=False)
                assert question is not None
                place = next(k for k in range(len(question.answers)) if (k != question.right) == wrong)
                tune = tunes(question, place)
                play(keys, *tune)

                def heard(asking: Asking = asking, tune: list[int] = tune) -> bool:
                    played = answers.heard(asking.sounding is not None, asking.may_go_on)
                    if played and asking.tones(played) is None and "the same again" in asking.remark:
                        play(keys, *tune)
                    return asking.outcome is not None

                assert until(heard, 8), (kind, asking.remark, engine.snapshot())
                outcome = asking.outcome
                assert outcome is not None
                assert (outcome.place, outcome.right) == (place, not wrong), (kind, outcome)
                if wrong:
                    assert outcome.sentence.startswith("You played ")
                    assert until(lambda: engine.snapshot().playing)
                    assert [part.words.split(":")[0] for part in asking.parts] == ["yours", "right"]
            asking.leave()


def test_each_kind_is_sung(cable: str) -> None:
    """A vowel with vibrato, an octave off: single tones and runs of them, through the listening process."""
    session = Session(LINE, FakePlayer(), Choices())
    with JackVoice("answering voice") as voice:
        sung = SungAnswers(Capture, Source("microphone", backend="jack"))
        sung.begin()
        assert isinstance(sung._listener, Capture)
        begun(sung._listener)
        voice.wire()
        try:
            for kind in SUNG_KINDS:
                asking, question = plainly_answered(session, kind)
                assert asking.sung is not None
                sung.begin(*asking.sung)
                keys = tunes(question, question.right)
                voice.sing(takes.sung(melody(*keys), 150.0, RATE, vibrato=40.0))

                def heard(asking: Asking = asking) -> bool:
                    tones = sung.look(False)
                    return bool(tones) and asking.tones(tones, "voice") is not None

                assert until(heard, 10), (kind, keys, asking.remark, sung.sentence)
                assert asking.outcome is not None
                assert asking.outcome.right, (kind, keys, asking.outcome)
        finally:
            sung.close()
