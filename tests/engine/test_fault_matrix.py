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
from listening_port import ListeningPort, is_on, wait_for
from performances import over_a_drone, steps

from earloop.engine.client import Engine
from earloop.sounding.outputs import SILENT, OutputChoice

pytestmark = pytest.mark.jack
NUMBERS = count(1)
AT_LEAST = 3
"""Notes that sound when the fault strikes."""


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
    assert port.wait(lambda port: not port.hanging()), port.hanging()


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
        assert port.wait(lambda port: not port.hanging()), port.hanging()
        screen.wait(10)
    assert wait_for(lambda: not _runs(number))


def _runs(number: int) -> bool:
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.parametrize("name", ["SIGTERM", "SIGINT", "SIGHUP", "SIGKILL"])
def test_an_engine_that_is_ended(name: str, engine: Engine, port: ListeningPort) -> None:
    """A new one plays on from the same place; the old one's notes are ended, by a fresh connection if need be."""
    assert wait_for(lambda: engine.snapshot().position > 1.0)
    before, number = engine.snapshot().position, engine.process_number
    assert number is not None
    killed = time.monotonic()
    os.kill(number, getattr(signal, name))
    assert wait_for(lambda: engine.restarted == 1, 2.0)
    noticed = time.monotonic() - killed
    assert "your place is kept" in engine.snapshot().notice
    assert wait_for(lambda: engine.process_number not in (None, number) and engine.snapshot().handled > 0)
    assert engine.snapshot().playing
    assert 0 <= (engine.snapshot().position - before) % 8.0 < 3.0
    engine.stop()
    assert port.wait(lambda port: not port.hanging()), port.hanging()
    assert noticed < 0.3


def test_a_machine_that_sleeps(engine: Engine, port: ListeningPort) -> None:
    """Stopped for a second and continued: no burst of what was missed, and every note ends."""
    number = engine.process_number
    assert number is not None
    os.kill(number, signal.SIGSTOP)
    time.sleep(1.0)
    woken = time.monotonic()
    os.kill(number, signal.SIGCONT)
    time.sleep(0.6)
    onsets = [at for at, words in port.messages() if is_on(words) and at > woken]
    # At 240 quarters a minute at most one upper and one lower tone begin in each half second, and the drone at a seam.
    assert 1 <= len(onsets) <= 6
    assert sum(1 for at in onsets if at < woken + 0.05) <= 4
    engine.stop()
    assert port.wait(lambda port: not port.hanging()), port.hanging()


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
    assert port.wait(lambda port: not port.hanging()), port.hanging()


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
            assert again.wait(lambda port: not port.hanging()), again.hanging()
