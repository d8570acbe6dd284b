"""Singing back through the real path: a player, a voice or keys on a JACK server, the listener, and the judgement."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from jack_server import jack_server
from system_parts import need_program, need_soundfont

from earloop.capture.client import Capture
from earloop.capture.sources import Source
from earloop.engine.client import Engine
from earloop.session.choices import Choices
from earloop.session.judging import Judged
from earloop.session.session import Session
from earloop.session.singing import Singing
from earloop.session.sound_choices import SoundChoices
from earloop.sounding.midi_port import port_names
from earloop.sounding.outputs import SILENT, OutputChoice
from tests.capture.jack_voice import RATE, JackVoice, wired
from tests.capture.rooms import begun, melody, sung_file, until
from tests.hearing import takes
from tests.made_lines import line_of

pytestmark = [pytest.mark.jack]

LINE = line_of("D4 F#4 A4 G4")
PLAYED = Choices(layer="ornamented", loop="whole", tempo=200)
SECOND = 60 / 72 / 2
"""Of a quarter, at 200 % of 72 a minute."""
OBOE = 68
"""General MIDI 1, counted from 0."""
MICROPHONE = Source("microphone", backend="jack")


@pytest.fixture(scope="module")
def cable(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A server for these tests alone: left running, it would be a sound device for tests that want none."""
    with jack_server(f"earloopcable{os.getpid()}", tmp_path_factory.mktemp("cable")) as name:
        yield name


def right_events():
    return melody(*(tone.pitch.midi for tone in LINE.tones))


def voice_of(events):
    """Half the vibrato of the checker's own tests, for tones of 0.3 s; faster than the line, so that a voice that comes
    late on a busy machine still fits into the gap."""
    return takes.sung(events, 1.3 * 60 / SECOND, RATE, vibrato=40.0)


def until_judged(singing: Singing, wanted: int, seconds: float = 20.0) -> list[Judged]:
    """Look on until so many answers are judged; what was heard is in the failure."""
    out: list[Judged] = []
    end = time.monotonic() + seconds
    while len(out) < wanted and time.monotonic() < end:
        out += singing.look()
        time.sleep(0.02)
    assert len(out) >= wanted, (singing.whose, singing.notice, singing.capture.report())
    return out


def test_answers_in_the_gap_are_judged_pass_after_pass(cable: str) -> None:
    """The first answer is right; in the second the third tone is a degree too low. Both come through a microphone."""
    with Capture() as capture, Engine(SILENT) as engine, JackVoice() as voice:
        singing = Singing(Session(LINE, engine, PLAYED), capture)
        singing.listen(MICROPHONE)
        begun(capture)
        voice.wire()
        songs = [voice_of(right_events()), voice_of(takes.wrong_degree(right_events(), 2, -3))]
        singing.play_or_stop()
        judged: list[Judged] = []
        for song in songs:
            assert until(lambda: bool(singing.look() or singing.whose == "yours"), 10)
            voice.sing(song)
            judged += until_judged(singing, 1)
        singing.leave()
    first, second = judged
    assert [tone.verdict for tone in first.heard.tones] == ["right"] * 4
    assert [tone.verdict for tone in second.heard.tones] == ["right", "right", "wrong", "right"]
    assert second.heard.tones[2].sung_degree != second.heard.tones[2].degree
    assert "tone 3" in second.say
    # The voice began when the turn did: what comes out late is the way there and back, and a busy machine.
    assert first.beat[0] is not None
    assert -100 < first.beat[0] < 600


def test_the_players_own_sound_answers_itself_along(cable: str) -> None:
    """A loop through the cable: what the engine's synth sounds is heard as the very layer, and on the beat."""
    with Capture() as capture, Engine(OutputChoice("speaker", backend="jack")) as engine:
        singing = Singing(Session(LINE, engine, replace(PLAYED, tempo=120)), capture)
        singing.listen(MICROPHONE)
        begun(capture)
        wired("earloop:playback0")
        singing.choose_way("along")
        singing.turn_beat()
        singing.play_or_stop()
        judged = until_judged(singing, 1)[0]
        singing.leave()
    assert [tone.verdict for tone in judged.heard.tones] == ["right"] * 4
    assert all(abs(tone.cents or 0) < 15 for tone in judged.heard.tones)
    # Where the player says it is heard and when the listener hears it agree, but for the 100 ms of device buffers that
    # the player reckons with and JACK doesn't have. Later tones tell only how slow a dummy's clock is under load.
    assert judged.beat[0] is not None
    assert abs(judged.beat[0]) < 350


@pytest.mark.fluidsynth
def test_a_real_instrument_is_heard_with_the_players_tuning(cable: str) -> None:
    """Engine → MIDI → FluidSynth's oboe, at A4 = 430 Hz and an octave up → cable → microphone: the very layer."""
    words = [need_program("fluidsynth"), "-s", "-i", "-m", "jack", "-a", "jack", "-R", "0", "-C", "0", "-r", str(RATE)]
    for setting in ("midi.jack.id=oboe", "audio.jack.id=oboe", "audio.jack.autoconnect=0"):
        words += ["-o", setting]
    player = subprocess.Popen([*words, need_soundfont()], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL)
    sound = SoundChoices(a4=430.0, transpose=12)
    try:
        assert until(lambda: any("oboe" in name for name in port_names())), "fluidsynth opens no port"
        choice = OutputChoice("midi", port="oboe", programs=(("single", OBOE),))
        with Capture() as capture, Engine(choice) as engine:
            engine.tuning(sound.a4)
            engine.transpose(sound.transpose)
            singing = Singing(Session(LINE, engine, replace(PLAYED, tempo=120)), capture)
            singing.reference = sound.above_written
            singing.listen(MICROPHONE)
            begun(capture)
            wired("oboe:left")
            singing.choose_way("along")
            singing.play_or_stop()
            judged = until_judged(singing, 1)[0]
            singing.leave()
    finally:
        player.kill()
        player.wait(10)
    assert [tone.verdict for tone in judged.heard.tones] == ["right"] * 4
    assert all(abs(tone.cents or 0) < 15 for tone in judged.heard.tones)


def test_keys_answer_in_ones_own_time_and_wrong_ones_play_both(cable: str) -> None:
    """A keyboard's answer: slower than the line, one key wrong; then mine and theirs sound one after the other."""
    import rtmidi

    with Capture() as capture, Engine(SILENT) as engine:
        keys = rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="earloop test keys")
        keys.open_virtual_port("out")
        singing = Singing(Session(LINE, engine, replace(PLAYED, tempo=300)), capture)
        singing.choose_way("own time")
        singing.listen(Source("midi", "earloop test keys"))
        assert until(lambda: "keyboard" in capture.report().source), capture.report()
        singing.play_or_stop()
        assert until(lambda: bool(singing.look() or singing.whose == "yours"), 10)
        for key in (62, 66, 69, 68):
            keys.send_message([0x90, key, 80])
            time.sleep(0.2)
            keys.send_message([0x80, key, 0])
        judged = until_judged(singing, 1)[0]
        keys.delete()
        assert [tone.verdict for tone in judged.heard.tones] == ["right", "right", "right", "wrong"]
        assert judged.heard.tones[3].cents == 0
        assert singing.whose == "both"
        assert until(lambda: bool(singing.look()) or engine.snapshot().playing)
        both = singing.session.player._state["load"][1][0]
        assert [event.midi for event in both.events] == [62, 66, 69, 68, 62, 66, 69, 67]
        singing.leave()


def test_from_a_file_without_any_sound_hardware(tmp_path: Path) -> None:
    """The same path with a recording for a voice, an octave lower and slower than the line: both are free."""
    events = [replace(event, midi=event.midi - 12) for event in right_events()]
    slow = 1.3
    with Capture() as capture, Engine(SILENT) as engine:
        singing = Singing(Session(LINE, engine, replace(PLAYED, tempo=300)), capture)
        singing.choose_way("own time")
        singing.play_or_stop()
        assert until(lambda: bool(singing.look() or singing.whose == "yours"), 10)
        song = sung_file(tmp_path / "song.wav", events, before=0.2, tempo=60 / SECOND / slow)
        singing.listen(Source("file", str(song)))
        judged = until_judged(singing, 1)[0]
        singing.leave()
    assert [tone.verdict for tone in judged.heard.tones] == ["right"] * 4
    assert all(late is not None and abs(late) < 120 for late in (judged.late(k) for k in range(4)))
