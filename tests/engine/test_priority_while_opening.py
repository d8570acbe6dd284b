"""Two players on one machine: one that opens an output doesn't hold up the other at its real-time priority.

sched(7): a process at SCHED_FIFO runs until it waits or one of a higher priority comes; one of the same waits for it.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from earloop.engine import urgency

LOOK = """
import os
from earloop.engine import place_of_sound
from earloop.engine.process import EngineProcess
from earloop.engine.steadiness import real_time_allowed
from earloop.sounding.outputs import OutputChoice, OutputError

def policy():
    return os.sched_getscheduler(0) & ~os.SCHED_RESET_ON_FORK == os.SCHED_FIFO

try:
    print(real_time_allowed())
except PermissionError:
    print(False)
engine = EngineProcess(0, 1)
opened = place_of_sound.opened

def looking(*words):
    print("while opening", policy())
    return opened(*words)

place_of_sound.opened = looking
print("before", policy())
engine.sound.choose(OutputChoice("speaker", backend="null"))
print("after", policy())
engine.sound.choose(OutputChoice("midi", port="a port that nobody has", backend="null"))
print("after a port that isn't there", policy())
engine.sound.close()
"""


@pytest.mark.skipif(sys.platform != "linux", reason="priorities by sched(7)")
def test_real_time_priority_waits_while_an_output_is_opened() -> None:
    """Where limits allow none there is none before, between or after, and the outputs open all the same."""
    words = [sys.executable, "-c", LOOK]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60, cwd=Path(__file__).parents[2])
    allowed, *told = done.stdout.splitlines()
    assert told == [
        f"before {allowed}",
        "while opening False",
        f"after {allowed}",
        "while opening False",
        "while opening False",
        f"after a port that isn't there {allowed}",
    ], done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="priorities by sched(7)")
def test_what_limits_allow_is_given_back_and_taken_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same where this user's limits allow nothing: what the engine asks of the system, in its order."""
    asked: list[str] = []
    monkeypatch.setattr(os, "sched_getscheduler", lambda thread: os.SCHED_FIFO)
    monkeypatch.setattr(urgency, "back_to_ordinary", lambda thread: asked.append("ordinary"))
    monkeypatch.setattr(urgency, "real_time_allowed", lambda: asked.append("real time"))
    found = urgency.Urgency(wanted=False)
    found.at_ease()
    assert asked == ["ordinary"]
    found.at_work()
    assert asked == ["ordinary", "real time"]
