"""What the tests of the listening process share: a song as a file, and waiting for what it reports."""

from __future__ import annotations

import time
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np

from earloop.capture.client import Capture
from earloop.performing import Event
from tests.hearing import takes

FASTER = 144.0
"""Quarters a minute: tests don't wait for a slow singer."""


def sung_file(path: Path, events: list[Event], before: float = 0.0, tempo: float = FASTER, rate: int = 48000) -> Path:
    """A vowel-like voice singing the events after some seconds of silence, as a WAV file."""
    sound = np.concatenate([np.zeros(round(before * rate)), takes.sung(events, tempo, rate)])
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((sound * 32767).astype("<i2").tobytes())
    return path


def melody(*keys: int, length: float = 1.0) -> list[Event]:
    """Tones of one length, one after the other."""
    return [Event(k * length, length, key, 0.6, "single") for k, key in enumerate(keys)]


def until(holds: Callable[[], bool], seconds: float = 10.0) -> bool:
    """Wait for something a process does in its own time; whether it came."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if holds():
            return True
        time.sleep(0.01)
    return holds()


def begun(capture: Capture, seconds: float = 10.0) -> float:
    """The moment from which on the process hears its source; fails where it hears none."""
    assert until(lambda: capture.report().heard_until > 0, seconds), capture.report()
    return capture.report().heard_until
