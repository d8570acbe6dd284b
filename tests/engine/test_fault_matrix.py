"""Never a hanging note: a row for each fault, over real ports; after each the number of hanging notes is 0.

A note counts as hanging until a note off of its own has arrived: controllers alone don't excuse it.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from hanging_notes import none_hangs
from jack_server import JackServer
from listening_port import ListeningPort, hanging_in, is_on, wait_for
from performances import over_a_drone, steps
from port_process import FarPort

from earloop.engine.client import Engine
from earloop.sounding.outputs import SILENT, OutputChoice

pytestmark = pytest.mark.jack
NUMBERS = count(1)
AT_LEAST = 3
"""Notes that sound when the fault strikes."""
SPARE = (7, 8)
"""Channels, from 0, that are no line's own where a player is alone on its port."""


@pytest.fixture
def port(jack: str) -> Iterator[ListeningPort]:
    with ListeningPort(f"instrument{next(NUMBERS)}") as port:
        yield port


@pytest.fixture
def engine(port: ListeningPort) -> Iterator[Engine]:
    """An engine in the midst of playing on the port."""
    with Engine(OutputChoice("midi", port=port.name)) as engine:
        engine.load(over_a_drone())
        engine.play(counted=False)
        assert port.wait(lambda port: len(port.hanging()) >= AT_LEAST)
        yield engine


def _change_port(engine: Engine) -> None:
    with ListeningPort("another") as other:
        engine.output(OutputChoice("midi", port="another"))
        assert other.wait(lambda port: bool(port.note_ons()))
        engine.stop()
        assert other.wait(lambda port: not port.hanging())


WHILE_PLAYING: dict[str, Callable[[Engine], object]] = {
    "stop": Engine.stop,
    "quit": Engine.close,
    "seek": lambda engine: engine.seek(3.3),
    "layer change now": lambda engine: engine.load(over_a_drone(62), "now"),
    "layer change at the seam": lambda engine: engine.load(steps(), "seam"),
    "tempo to 300 %": lambda engine: engine.tempo(3.0),
    "mute": lambda engine: engine.mute("drone", True),
    "one strand alone": lambda engine: engine.alone("lower"),
    "transposition": lambda engine: engine.transpose(5),
    "tuning": lambda engine: engine.tuning(432.0, 0),
    "output to silence": lambda engine: engine.output(SILENT),
    "port change": _change_port,
    "passes run out": lambda engine: engine.loops(1),
    "a layer without length": lambda engine: engine.load(steps(0), "now"),
}


@pytest.mark.parametrize("fault", WHILE_PLAYING)
def test_what_the_performer_does(fault: str, engine: Engine, port: ListeningPort) -> None:
    """Whatever is asked for while three notes sound, all of them have ended after stop."""
    WHILE_PLAYING[fault](engine)
    time.sleep(0.3)
    engine.stop()
    none_hangs(lambda: len(port.hanging()))


def _screen(port: ListeningPort, fault: str) -> subprocess.Popen[str]:
    tests = Path(__file__).parents[1]
    words = [sys.executable, str(tests / "engine" / "pretend_screen.py"), port.name, fault]
    environment = os.environ | {"PYTHONPATH": str(tests)}
    pipe = subprocess.PIPE
    return subprocess.Popen(words, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True, env=environment)


SCREEN_FAULTS: dict[str, int] = {
    "quit": 0,
    "exception": 0,
    "Ctrl-C": signal.SIGINT,
    "SIGTERM": signal.SIGTERM,
    "SIGHUP": signal.SIGHUP,
    "kill -9": signal.SIGKILL,
}


@pytest.mark.parametrize("fault", SCREEN_FAULTS)
def test_a_screen_that_dies(fault: str, port: ListeningPort) -> None:
    """The closed pipe silences: no note hangs, and no engine stays behind."""
    with _screen(port, fault) as screen:
        assert screen.stdout is not None
        number = int(screen.stdout.readline())
        assert port.wait(lambda port: len(port.hanging()) >= AT_LEAST)
        if SCREEN_FAULTS[fault]:
            screen.send_signal(SCREEN_FAULTS[fault])
        else:
            assert screen.stdin is not None
            screen.stdin.write("now\n")
            screen.stdin.flush()
        none_hangs(lambda: len(port.hanging()))
        screen.wait(10)
    assert wait_for(lambda: not _runs(number))


def _runs(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP", "SIGKILL"])
def test_an_engine_that_is_ended(name: str, mortal_jack: JackServer) -> None:
    """A new one plays on from the same place; the old one's notes are ended, by a fresh connection if need be."""
    port = FarPort("instrument")
    with Engine(OutputChoice("midi", port="instrument")) as engine:
        engine.load(over_a_drone())
        engine.play(counted=False)
        assert wait_for(lambda: port.notes()[1] >= AT_LEAST and engine.snapshot().position > 1.0)
        before, number, began = engine.snapshot().position, engine.process_number, port.notes()[0]
        assert number is not None
        killed = time.monotonic()
        os.kill(number, getattr(signal, name))
        assert wait_for(lambda: engine.restarted == 1, 2.0)
        noticed = time.monotonic() - killed
        assert "your place is kept" in engine.snapshot().notice
        assert wait_for(lambda: engine.process_number not in (None, number) and port.notes()[0] > began)
        assert engine.snapshot().playing
        assert 0 <= (engine.snapshot().position - before) % 8.0 < 3.0
        engine.stop()
        none_hangs(lambda: port.notes()[1])
    port.end()
    assert noticed < 0.3


def test_an_engine_killed_with_tones_on_spare_channels(mortal_jack: JackServer) -> None:
    """A just fifth over the drone's tonic has a channel beside it. On each channel the fresh connection ends every
    tone by a note off of its own before it sends any controller there."""
    port = FarPort("instrument")
    with Engine(OutputChoice("midi", port="instrument")) as engine:
        engine.tuning(440.0, 0)
        engine.load(over_a_drone())
        engine.play(counted=False)
        assert wait_for(lambda: any(words[0] & 15 in SPARE and is_on(words) for words in port.messages()))
        number = engine.process_number
        assert number is not None
        os.kill(number, signal.SIGKILL)
        time.sleep(0.03)
        before = port.messages()
        sounding = hanging_in(before)
        assert any(channel in SPARE for channel, _ in sounding)
        assert wait_for(lambda: sum(map(is_on, port.messages()[len(before) :])) >= AT_LEAST), "it plays on"
        engine.stop()
        none_hangs(lambda: port.notes()[1])
        later = port.messages()[len(before) :]
    port.end()
    for channel, key in sounding:
        here = [words for words in later if words[0] & 15 == channel and words[0] < 0xF0]
        off = next(k for k, words in enumerate(here) if words[0] & 0xF0 == 0x80 and words[1] == key)
        assert all(words[0] & 0xF0 == 0x80 for words in here[:off])


@pytest.mark.parametrize("seconds", [0.5, 3.0])
def test_a_machine_that_sleeps(seconds: float, engine: Engine, port: ListeningPort) -> None:
    """Stopped and continued: in the first 100 ms no more begins than one moment has, it goes on, every note ends."""
    number = engine.process_number
    assert number is not None
    os.kill(number, signal.SIGSTOP)
    time.sleep(seconds)
    woken = time.monotonic()
    os.kill(number, signal.SIGCONT)
    time.sleep(0.6)
    onsets = [at for at, words in port.messages() if is_on(words) and at > woken]
    # At 240 quarters a minute at most one upper and one lower tone begin in each half second; at a seam the drone too.
    assert sum(1 for at in onsets if at < woken + 0.1) <= 4
    assert 1 <= len(onsets) <= 6
    assert engine.restarted == 0
    engine.stop()
    none_hangs(lambda: len(port.hanging()))


def test_a_speaker_that_sleeps_is_not_taken_for_lost() -> None:
    with Engine(OutputChoice("speaker", backend="null")) as engine:
        engine.load(steps(8))
        engine.play()
        assert wait_for(lambda: engine.snapshot().playing)
        number = engine.process_number
        assert number is not None
        os.kill(number, signal.SIGSTOP)
        time.sleep(2.5)
        os.kill(number, signal.SIGCONT)
        place = engine.snapshot().position
        assert wait_for(lambda: engine.snapshot().position != place)
        time.sleep(1.2)
        assert (engine.snapshot().output, engine.snapshot().notice) == ("speaker", "")


def test_job_control(engine: Engine, port: ListeningPort) -> None:
    """Ctrl-Z: silent while it is stopped, in time again afterwards."""
    number = engine.process_number
    assert number is not None
    os.kill(number, signal.SIGTSTP)
    assert port.wait(lambda port: not port.hanging(), 2.0), port.hanging()
    heard = len(port.note_ons())
    time.sleep(0.5)
    assert len(port.note_ons()) == heard
    os.kill(number, signal.SIGCONT)
    assert port.wait(lambda port: len(port.note_ons()) > heard)
    engine.stop()
    none_hangs(lambda: len(port.hanging()))


def test_a_port_that_goes_and_comes_back(jack: str) -> None:
    """One line says so; the music goes on elsewhere, and comes back when the port does; then every note ends."""
    name = f"instrument{next(NUMBERS)}"
    port = ListeningPort(name)
    with Engine(OutputChoice("midi", port=name, backend="null")) as engine:
        engine.load(over_a_drone())
        engine.play(counted=False)
        assert port.wait(lambda port: len(port.hanging()) >= AT_LEAST)
        port.close()
        assert wait_for(lambda: engine.snapshot().output == "speaker")
        assert "has gone" in engine.snapshot().notice
        assert engine.snapshot().playing
        with ListeningPort(name) as again:
            assert wait_for(lambda: engine.snapshot().output.startswith("MIDI port"))
            assert "there again" in engine.snapshot().notice
            assert again.wait(lambda port: len(port.hanging()) >= AT_LEAST)
            engine.stop()
            none_hangs(lambda: len(again.hanging()))


def test_a_midi_server_that_is_killed(mortal_jack: JackServer) -> None:
    """Within a second or so the speaker sounds on and one line says why; with the server the port comes back."""
    port = FarPort("instrument")
    with Engine(OutputChoice("midi", port="instrument", backend="null")) as engine:
        engine.load(over_a_drone())
        engine.play(counted=False)
        assert wait_for(lambda: port.notes()[1] >= AT_LEAST)
        mortal_jack.kill()
        assert wait_for(lambda: engine.snapshot().output == "speaker", 2.0)
        port.end()
        assert "the MIDI server of instrument" in engine.snapshot().notice
        assert "has died; the speaker sounds" in engine.snapshot().notice
        place = engine.snapshot().position
        assert wait_for(lambda: engine.snapshot().playing and engine.snapshot().position != place)
        mortal_jack.start()
        port = FarPort("instrument")
        assert wait_for(lambda: engine.snapshot().output.startswith("MIDI port"), 10.0)
        assert wait_for(lambda: port.notes()[1] >= AT_LEAST)
        engine.stop()
        none_hangs(lambda: port.notes()[1])
        assert engine.restarted == 0
    port.end()


def test_two_players_on_one_port(port: ListeningPort) -> None:
    """Each has channels of its own: what one ends, silences or tunes never reaches a tone of the other."""
    choice = OutputChoice("midi", port=port.name, backend="null")
    with Engine(choice) as one, Engine(choice) as two:
        for engine, first in ((one, 60), (two, 61)):
            engine.load(over_a_drone(first))
            engine.play(counted=False)
            assert wait_for(lambda engine=engine: engine.snapshot().playing and bool(engine.snapshot().output))
        assert port.wait(lambda port: len(_channels_of(port.hanging())) >= 6)
        second = next(engine for engine in (one, two) if "another player" in engine.snapshot().notice)
        assert "channels 11 to 16" in second.snapshot().notice
        first = one if second is two else two
        with Engine(choice) as third:
            third.load(steps())
            third.play()
            assert wait_for(lambda: third.snapshot().output == "speaker")
            assert "close one of them; the speaker sounds" in third.snapshot().notice
        here = len(port.messages())
        for act in (lambda: first.seek(3.3), lambda: first.level(0.2), lambda: first.tuning(430.0, 2), first.stop):
            act()
            time.sleep(0.15)
        assert port.wait(lambda port: not any(channel < 10 for channel, _ in port.hanging()))
        later = [words for _, words in port.messages()[here:] if words[0] & 15 >= 10]
        assert any(is_on(words) for words in later), "the other plays on"
        assert all(words[0] & 0xF0 in (0x80, 0x90) for words in later), "and nothing but its own notes reaches it"
        assert port.wait(lambda port: len(_channels_of(port.hanging())) >= AT_LEAST)
        second.stop()
        none_hangs(lambda: len(port.hanging()))
    with Engine(choice) as alone:
        alone.load(over_a_drone())
        alone.play(counted=False)
        before = len(port.note_ons())
        assert port.wait(lambda port: len(port.note_ons()) > before + 4)
        assert all(channel < 10 for _, channel, _ in port.note_ons()[before:]), "what was taken is free again"


def _channels_of(hanging: set[tuple[int, int]]) -> set[int]:
    return {channel for channel, _ in hanging}
