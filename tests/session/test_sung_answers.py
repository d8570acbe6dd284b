"""A sung tone as an answer: when it begins and ends, which tone of several counts, and the real path from a file."""

from __future__ import annotations

import time
from itertools import groupby
from pathlib import Path

import pytest

from earloop.capture.client import Capture
from earloop.capture.messages import Answer, Frame, Report
from earloop.capture.sources import Source
from earloop.hearing.tones_sung import SungTone
from earloop.session.sung_answers import PATIENCE, STILL, STILL_AFTER_SOME, SungAnswers, settled
from tests.capture.rooms import melody, sung_file


class Room:
    """A listener whose sound is written down, and the clock that goes with it."""

    def __init__(self) -> None:
        self.now, self.frames, self.asked, self.given = 100.0, [], [], []
        self.started: list[Source] = []
        self.closed = 0
        self.notice = ""
        self.hears = True

    def start(self, source: Source) -> None:
        self.started.append(source)

    def sing(self, seconds: float, midi: float | None) -> None:
        """Time passes, with a tone in it or silence."""
        for _ in range(round(seconds * 20)):
            self.now += 0.05
            self.frames.append(Frame(self.now, midi, -20.0))

    def trace(self, begin: float, end: float | None = None) -> list[Frame]:
        return [frame for frame in self.frames if frame.moment >= begin]

    def answer(self, begin: float, end: float) -> int:
        self.asked.append((begin, end))
        heard = [frame.midi for frame in self.trace(begin) if frame.midi is not None and frame.moment <= end]
        tones = [SungTone(0.0, len(list(same)) / 20, midi) for midi, same in groupby(heard)]
        self.given.append(Answer(len(self.asked), begin, end, tuple(tones)))
        return len(self.asked)

    def answers(self) -> list[Answer]:
        given, self.given = self.given, []
        return given

    def report(self) -> Report:
        return Report((), "microphone", self.notice, self.now if self.hears else 0.0, 1)

    def close(self) -> None:
        self.closed += 1


@pytest.fixture
def room() -> Room:
    return Room()


@pytest.fixture
def sung(room: Room) -> SungAnswers:
    return SungAnswers(lambda: room, Source("microphone", "desk"), lambda: room.now)


def test_nothing_is_opened_before_it_is_asked_for(room: Room, sung: SungAnswers) -> None:
    assert sung.look(False) == ()
    assert room.started == []
    sung.close()
    assert room.closed == 0
    sung.begin()
    assert room.started == [Source("microphone", "desk")]
    assert "Listening to the microphone" in sung.sentence


def test_it_is_told_that_one_listens_only_when_the_question_has_sounded(room: Room, sung: SungAnswers) -> None:
    sung.begin()
    sung.look(True)
    assert sung.sentence.startswith("Hear it out")
    room.sing(0.5, None)
    sung.look(False)
    assert sung.sentence.startswith("Listening to the microphone")


def test_the_tone_counts_once_the_voice_is_still(room: Room, sung: SungAnswers) -> None:
    sung.begin()
    room.sing(1.0, None)
    room.sing(0.8, 62.2)
    assert sung.look(False) == ()
    assert room.asked == [], "the voice still sounds"
    room.sing(STILL + 0.1, None)
    assert sung.look(False) == ()
    assert sung.look(False) == (62.2,)
    assert not sung.listening
    room.sing(1.0, 70.0)
    assert sung.look(False) == (), "nobody listens any more"


def test_what_the_loudspeaker_sounds_is_no_answer(room: Room, sung: SungAnswers) -> None:
    sung.begin()
    for _ in range(10):
        room.sing(0.1, 55.0)
        assert sung.look(True) == ()
    room.sing(0.2, 55.0)
    room.sing(1.0, None)
    for _ in range(3):
        assert sung.look(False) == ()
    room.sing(0.8, 64.0)
    room.sing(STILL + 0.1, None)
    sung.look(False)
    assert sung.look(False) == (64.0,)
    assert all(begin > 101.2 for begin, _ in room.asked)


def test_silence_and_a_missing_microphone_are_said(room: Room, sung: SungAnswers) -> None:
    sung.begin()
    room.sing(PATIENCE + 1, None)
    assert sung.look(False) == ()
    assert not sung.listening
    assert "heard nothing" in sung.sentence
    room.hears, room.notice = False, "there is no microphone: plug one in"
    sung.begin()
    assert sung.look(False) == ()
    assert not sung.listening
    assert sung.sentence == "There is no microphone: plug one in."
    sung.close()
    assert room.closed == 1


def test_the_tone_that_was_settled_on_counts() -> None:
    """A search before the tone, and a breath after it, are not it."""
    searched = (
        SungTone(0.0, 0.12, 60.1),
        SungTone(0.15, 0.4, 61.0),
        SungTone(0.6, 0.9, 62.0),
        SungTone(1.6, 0.07, 50.0),
    )
    assert settled(searched) == (61.0, 62.0)
    assert settled(searched[:1] + searched[3:]) == (60.1,)
    assert settled(()) == ()
    assert settled(searched, 0.1) == (60.1, 61.0, 62.0)


def test_several_tones_may_breathe_between_them(room: Room, sung: SungAnswers) -> None:
    """Half a second between two of them ends nothing, a second does; what is passed over on the way is left out."""
    sung.begin("the first two tones of that line", 2)
    assert sung.sentence.endswith("sing the first two tones of that line, in any octave, then be still.")
    room.sing(0.1, 58.0)
    for key in (60.0, 64.0):
        room.sing(0.4, key)
        room.sing(STILL + 0.2, None)
        assert sung.look(False) == ()
    assert room.asked == []
    room.sing(STILL_AFTER_SOME, None)
    assert sung.look(False) == ()
    assert sung.look(False) == (60.0, 64.0)


def test_keys_struck_shortly_count(room: Room) -> None:
    """From a MIDI keyboard chosen as the input each stroke is a tone, and it was played, not sung."""
    sung = SungAnswers(lambda: room, Source("midi", "keys"), lambda: room.now)
    sung.begin("the changed tone", 9)
    assert "play the changed tone" in sung.sentence
    assert sung.way == "keyboard"
    for key in (60.0, 62.0, 64.0):
        room.sing(0.1, key)
    room.sing(STILL_AFTER_SOME + 0.1, None)
    assert sung.look(False) == ()
    assert sung.look(False) == (60.0, 62.0, 64.0)


def test_a_voice_is_heard_through_the_listening_process(tmp_path: Path) -> None:
    """A sung D, as though sung now, arrives as a D."""
    path = sung_file(tmp_path / "d.wav", melody(62, length=2.0), before=0.4)
    sung = SungAnswers(Capture, Source("file", str(path)))
    sung.begin()
    try:
        end = time.monotonic() + 20
        heard: tuple[float, ...] = ()
        while not heard and time.monotonic() < end:
            heard = sung.look(False)
            time.sleep(0.05)
    finally:
        sung.close()
    assert heard[-1:] == pytest.approx((62,), abs=0.4)
