"""An ordinary user's player asks RealtimeKit for priority: never at the cost of its sound, and never at its own.

What is asked, in which order, and the limit that has to stand before it: org.freedesktop.RealtimeKit1.xml and the
README published with RealtimeKit.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import replace
from itertools import count
from pathlib import Path

import pytest
from listening_port import ListeningPort, wait_for
from performances import over_a_drone, steps
from pretend_kit import Manner, PretendKit, dumb_socket, own_bus

from earloop.engine.client import Engine
from earloop.sounding.outputs import OutputChoice

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="RealtimeKit is a service of Linux")
SPEAKER = OutputChoice("speaker", backend="null")
NUMBERS = count()


@pytest.fixture(autouse=True)
def ordinary(monkeypatch: pytest.MonkeyPatch) -> None:
    """As a user whose limits allow nothing, whoever runs the tests."""
    monkeypatch.setenv("EARLOOP_UNSTEADY", "priority,nice")


@pytest.fixture
def bus(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[str]:
    with own_bus(tmp_path) as address:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", address)
        yield address


@pytest.fixture
def port(jack: str) -> Iterator[ListeningPort]:
    with ListeningPort(f"urgent{next(NUMBERS)}") as port:
        yield port


def _playing(engine: Engine) -> Engine:
    engine.load(over_a_drone())
    engine.play(counted=False)
    assert wait_for(lambda: engine.snapshot().playing)
    return engine


def _given(engine: Engine, words: str) -> bool:
    return wait_for(lambda: any(words in told for told in engine.measure().steadied))


@pytest.mark.jack
def test_on_a_port_the_thread_that_keeps_the_time_is_asked_for(bus: str, port: ListeningPort) -> None:
    """The main thread, at the lowest real-time priority; the kernel's limit stands before, its signal comes earlier."""
    with PretendKit(bus) as kit, Engine(OutputChoice("midi", port=port.name)) as engine:
        _playing(engine)
        assert _given(engine, "real-time priority from RealtimeKit")
        assert kit.priorities() == [("MakeThreadRealtime", (engine.process_number, 1), "50000 200000")]
        assert [row[1][1] for row in kit.asked if row[0] == "Get"] == ["RTTimeUSecMax", "MaxRealtimePriority"]
        if kit.given:
            assert os.sched_getscheduler(engine.process_number or 0) == os.SCHED_RR | os.SCHED_RESET_ON_FORK
        engine.output(SPEAKER)
        assert wait_for(lambda: len(kit.priorities()) == 2)
        assert os.sched_getscheduler(engine.process_number or 0) & ~os.SCHED_RESET_ON_FORK == os.SCHED_OTHER


def test_on_a_speaker_the_devices_own_thread_is_asked_for(bus: str) -> None:
    with PretendKit(bus) as kit, Engine(SPEAKER) as engine:
        _playing(engine)
        assert _given(engine, "real-time priority")
        ((_, (thread, _), _),) = kit.priorities()
        assert thread != engine.process_number
        assert Path(f"/proc/{engine.process_number}/task/{thread}").exists()


def test_in_silence_nobody_is_asked(bus: str) -> None:
    with PretendKit(bus) as kit, Engine(OutputChoice("silent")) as engine:
        _playing(engine)
        time.sleep(1.0)
        assert kit.asked == []


@pytest.mark.parametrize("manner", ["gives nice only", "refuses"])
def test_where_real_time_is_refused(manner: Manner, bus: str) -> None:
    """Then a higher priority is asked for, within what it gives; refused that too, all stays as it is."""
    with PretendKit(bus, manner) as kit, Engine(SPEAKER) as engine:
        _playing(engine)
        assert wait_for(lambda: len(kit.priorities()) == 2)
        assert [(name, values[1]) for name, values, _ in kit.priorities()] == [
            ("MakeThreadRealtime", 1),
            ("MakeThreadHighPriority", -11),
        ]
        place = engine.snapshot().position
        assert wait_for(lambda: engine.snapshot().position != place)
        told = " ".join(engine.measure().steadied)
        assert ("higher priority from RealtimeKit" in told) == (manner == "gives nice only")
        assert "real-time" not in told
        assert engine.restarted == 0


def test_while_it_never_answers_the_player_plays(bus: str) -> None:
    with PretendKit(bus, "never answers") as kit, Engine(SPEAKER) as engine:
        _playing(engine)
        assert wait_for(lambda: bool(kit.asked))
        place = engine.snapshot().position
        assert wait_for(lambda: engine.snapshot().position != place)
        assert "RealtimeKit" not in " ".join(engine.measure().steadied)
        engine.stop()
        assert wait_for(lambda: not engine.snapshot().playing)


STRANGE: dict[str, Callable[[Path], AbstractContextManager[str]]] = {
    "a bus without the service": own_bus,
    "somebody who says nothing": dumb_socket,
    "somebody who talks nonsense": lambda folder: dumb_socket(folder, b"\x00\xff nonsense \r\n" * 9),
}


@pytest.mark.parametrize("who", [*STRANGE, "nobody", "an address without sense"])
def test_where_there_is_no_kit(who: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if who in STRANGE:
        with STRANGE[who](tmp_path) as address:
            _plays_as_ever(address, monkeypatch)
    else:
        _plays_as_ever(f"unix:path={tmp_path}/nobody" if who == "nobody" else "of no sense", monkeypatch)


def _plays_as_ever(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", address)
    with Engine(SPEAKER) as engine:
        _playing(engine)
        time.sleep(0.7)
        place = engine.snapshot().position
        assert wait_for(lambda: engine.snapshot().position != place)
        assert "RealtimeKit" not in " ".join(engine.measure().steadied)
        assert engine.snapshot().notice == ""
        assert engine.restarted == 0


@pytest.mark.jack
def test_the_kernel_never_ends_it_for_running_too_long(bus: str, port: ListeningPort) -> None:
    """With a tenth of the usual time allowed, and work that takes longer than that: it gives the priority back."""
    with PretendKit(bus, longest=20_000) as kit, Engine(OutputChoice("midi", port=port.name, backend="null")) as engine:
        _playing(engine)
        assert _given(engine, "real-time priority")
        long = steps(64, 0.25, 120.0)
        many = tuple(replace(event, onset=event.onset + 16.0 * k) for k in range(400) for event in long.events)
        for _ in range(3):
            engine.load(replace(long, events=many, length=16.0 * 400), "now")
            engine.output(SPEAKER)
            engine.output(OutputChoice("midi", port=port.name, backend="null"))
        handled = engine.snapshot().handled
        engine.stop()
        assert wait_for(lambda: engine.snapshot().handled > handled and not engine.snapshot().playing, 20.0)
        assert engine.restarted == 0
        assert kit.priorities()[0][2] == "5000 20000"
