"""A clock that leaps ahead, as when a machine wakes: nothing is made up for, and what sounded is ended."""

from __future__ import annotations

import os
import time
from itertools import count

import pytest
from performances import over_a_drone

from earloop.engine.process import EngineProcess


class Clock:
    """The machine's steady clock, and how far it has leapt."""

    def __init__(self) -> None:
        self.leap = 0.0
        self._real = time.monotonic

    def __call__(self) -> float:
        return self._real() + self.leap


class Book:
    """A sounder that writes down what begins and what still sounds."""

    name = "book"

    def __init__(self) -> None:
        self.begun: list[float] = []
        self.sounding: set[int] = set()
        self._numbers = count(1)

    def now(self) -> float:
        return time.monotonic()

    def start(self, midi, cents, loudness, strand, at, legato=False) -> int:
        self.begun.append(time.monotonic())
        number = next(self._numbers)
        self.sounding.add(number)
        return number

    def stop(self, voice: int, at: float) -> None:
        self.sounding.discard(voice)

    def silence(self) -> None:
        self.sounding.clear()

    def open(self) -> None: ...

    def close(self) -> None: ...

    def level(self, level: float) -> None: ...


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    clock = Clock()
    monkeypatch.setattr(time, "monotonic", clock)
    return clock


@pytest.mark.parametrize("leap", [0.2, 3.0, 3600.0, 8 * 3600.0])
def test_no_burst_and_nothing_hangs(clock: Clock, leap: float) -> None:
    """In the first 100 ms after the leap no more begins than one moment has; then it goes on as before."""
    (reading, commands), (reports, writing) = os.pipe(), os.pipe()
    os.set_blocking(writing, False)
    process, book = EngineProcess(reading, writing), Book()
    try:
        process.player.move_to(book)
        process.player.load(over_a_drone())
        process.player.play(counted=False)
        _turn(process, 0.3)
        assert len(book.sounding) >= 3
        place = process.player.position()
        clock.leap += leap
        woken = time.monotonic()
        _turn(process, 1.0)
        early = [at for at in book.begun if woken <= at < woken + 0.1]
        assert len(early) <= 2
        assert 2 <= sum(at >= woken for at in book.begun) <= 5
        assert (process.player.position() - place) % 8.0 == pytest.approx(4.0, abs=1.2)
        process.player.stop()
        assert book.sounding == set()
    finally:
        for end in (reading, commands, reports, writing):
            os.close(end)
        process.listening.close()


def _turn(process: EngineProcess, seconds: float) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        process._turn()
