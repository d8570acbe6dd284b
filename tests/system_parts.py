"""Programs that some tests need beside Python, and what happens where one is absent.

A newcomer's run leaves such a test out with a sentence that says what to install. With EARLOOP_ALL_PARTS=1 in the
environment (as in .ci/run) a missing part is a failure: there nothing may be left out.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
from pathlib import Path

import pytest

SOUNDFONTS = ("/usr/share/sounds/sf2/FluidR3_GM.sf2", "/usr/share/sounds/sf2/default-GM.sf2")
PACKAGES = {"jackd": "jackd2", "fluidsynth": "fluidsynth", "dbus-daemon": "dbus"}


def need_program(name: str) -> str:
    """The path of a program, or the end of the test."""
    found = shutil.which(name)
    if found is None:
        leave_out(f"this test needs {name}: apt-get install {PACKAGES.get(name, name)} (Debian's name)")
    return str(found)


def need_module(name: str, how: str) -> None:
    """A Python library that can't be installed everywhere."""
    if importlib.util.find_spec(name) is None:
        leave_out(f"this test needs {name}: {how}")


def no_port_told(sentence: str) -> str:
    """What a missing MIDI port is answered with: the sentence, or how to get ports where Python has none."""
    return sentence if importlib.util.find_spec("rtmidi") else "pip install python-rtmidi"


def need_soundfont() -> str:
    """The path of a General MIDI SoundFont."""
    found = next((path for path in SOUNDFONTS if Path(path).is_file()), None)
    if found is None:
        leave_out("this test needs a General MIDI SoundFont: apt-get install fluid-soundfont-gm (Debian's name)")
    return str(found)


def leave_out(sentence: str) -> None:
    """Skips, or fails where every part must be there."""
    if os.environ.get("EARLOOP_ALL_PARTS"):
        pytest.fail(f"left out although every part should be here: {sentence}")
    pytest.skip(sentence)
