"""Two players on one machine: one that opens an output doesn't hold up the other at its real-time priority.

sched(7): a process at SCHED_FIFO runs until it waits or one of a higher priority comes; one of the same waits for it.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

LOOK = """
import os, sys
from earloop.engine import place_of_sound
from earloop.engine.process import EngineProcess
from earloop.engine.steadiness import real_time_allowed
from earloop.sounding.outputs import OutputChoice, OutputError

def policy():
    return os.sched_getscheduler(0) & ~os.SCHED_RESET_ON_FORK == os.SCHED_FIFO

try:
    real_time_allowed()
except OSError:
    sys.exit(3)
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
    words = [sys.executable, "-c", LOOK]
    done = subprocess.run(words, capture_output=True, text=True, timeout=60, cwd=Path(__file__).parents[2])
    if done.returncode == 3:
        pytest.skip("this user's limits allow no real-time priority")
    assert done.stdout.splitlines() == [
        "before True",
        "while opening False",
        "after True",
        "while opening False",
        "while opening False",
        "after a port that isn't there True",
    ], done.stderr
