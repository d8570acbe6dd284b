"""What goes through the pipes: commands to the listening process, reports back. Moments are monotonic seconds.

Python's own `multiprocessing.connection` frames and pickles them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from earloop.hearing.tones_sung import SungTone

Command = tuple[str, tuple[Any, ...]]


@dataclass(frozen=True, slots=True)
class Frame:
    """One look at the sound: `moment` of its middle, `midi` the fractional key (None where unpitched), `decibels`."""

    moment: float
    midi: float | None
    decibels: float


@dataclass(frozen=True, slots=True)
class Report:
    """The frames since the last report, what is listened to, and what is wrong (empty where all is well).

    `heard_until` is the moment up to which sound has arrived.
    """

    frames: tuple[Frame, ...] = ()
    source: str = ""
    notice: str = ""
    heard_until: float = 0.0
    handled: int = 0


@dataclass(frozen=True, slots=True)
class Answer:
    """What was sung or played between two moments. Onsets count from `begin`, in seconds."""

    number: int
    begin: float
    end: float
    tones: tuple[SungTone, ...]
    notice: str = ""


@dataclass(frozen=True, slots=True)
class Kept:
    """A take was written to `path`, or `problem` says in one sentence why not."""

    path: str
    problem: str = ""
