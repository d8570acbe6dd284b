"""Half an hour of playing, run on request: pytest -m soak. EARLOOP_SOAK_MINUTES shortens it."""

from __future__ import annotations

import os
import time

import numpy as np
import pytest
from listening_port import ListeningPort, wait_for
from performances import over_a_drone, steps

from earloop.engine.client import Engine
from earloop.engine.messages import Doing
from earloop.sounding.outputs import OutputChoice
from tests.bench.late_onsets import Sleepers, Stolen

MINUTES = float(os.environ.get("EARLOOP_SOAK_MINUTES", "30"))
MOST_GROWTH = 5 * 1024
"""KiB."""
NEAR = 0.1
"""Seconds from a late moment within which what the engine did is told."""
LATE = 0.005
"""Seconds. Holds on an otherwise idle machine."""


@pytest.mark.soak
@pytest.mark.jack
@pytest.mark.timeout(MINUTES * 60 + 120)
def test_half_an_hour_of_loops(jack: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Layers, tempos and mutes change all the while: memory grows by less than 5 MB, nothing is late, nothing hangs.

    What is late while the machine below took this one's time, or while a bare sleeper above the player's priority was
    late as well, is told and not judged: no program could help.
    """
    late: list[float] = []
    due: list[float] = []
    woken: list[float] = []
    doings: list[Doing] = []
    with (
        Stolen() as stolen,
        Sleepers() as sleepers,
        ListeningPort("soaked") as port,
        Engine(OutputChoice("midi", port="soaked")) as engine,
    ):
        engine.load(over_a_drone())
        engine.play()
        assert wait_for(lambda: engine.snapshot().playing)
        time.sleep(min(30.0, MINUTES * 10))
        first = engine.measure().memory
        until, turn = time.monotonic() + MINUTES * 60, 0
        while time.monotonic() < until:
            turn += 1
            engine.load(steps(64, 0.25, 120.0) if turn % 2 else over_a_drone(), ("seam", "now")[turn // 2 % 2])
            engine.tempo(0.5 + turn % 20 / 10)
            engine.mute("upper", turn % 3 == 0)
            time.sleep(5)
            measured = engine.measure()
            late += measured.lateness
            due += measured.due
            woken += measured.woken
            doings += measured.doings
            assert engine.restarted == 0
            port.forget_all_but(4000)
        engine.stop()
        assert port.wait(lambda port: not port.hanging())
        too_late = [k for k, value in enumerate(late) if value > LATE]
        overslept = {k: sleepers.overslept(due[k] - 0.001, due[k] + late[k]) for k in too_late}
    growth = measured.memory - first
    below = [k for k in too_late if stolen.near(due[k]) or overslept[k] > late[k] / 2]
    with capsys.disabled():
        print(
            f"\n{MINUTES:g} minutes, {turn} changes: memory {growth:+d} KiB; {len(late)} moments, "
            f"{len(too_late)} later than {1000 * LATE:g} ms, {len(below)} while the machine below took time; worst "
            f"{1000 * max(late):.2f} ms, 99th percentile {1000 * np.percentile(late, 99):.3f} ms; 0 hanging notes"
        )
        for k in too_late:
            beside = [f"{name} {1000 * took:.1f} ms" for at, took, name in doings if abs(at - due[k]) < NEAR]
            print(
                f"  {1000 * late[k]:.1f} ms late, awake {1000 * woken[k]:+.1f}; a bare sleeper overslept "
                f"{1000 * overslept[k]:.1f} ms; {', '.join(beside) or 'the engine did nothing long'}"
            )
    assert growth < MOST_GROWTH
    assert too_late == below
