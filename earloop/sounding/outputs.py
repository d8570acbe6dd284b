"""Where the sound goes: the choice of output, as a value that can be remembered."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from earloop.performing.events import Strand

OutputKind = Literal["speaker", "midi", "silent"]

Wish = Literal["toggle", "start", "stop", "next"]
Control = tuple[Literal["control", "key"], int, Wish]
"""A pedal (controller number) or a key (MIDI key number) and what it asks for."""

Left = frozenset[tuple[Strand, int]]
"""Strands and MIDI keys that may still sound although their player has gone."""

PEDALS: tuple[Control, ...] = (("control", 64, "toggle"), ("control", 67, "next"))
"""The sustain pedal starts and stops, the soft pedal asks for the next phrase."""


@dataclass(frozen=True, slots=True)
class OutputChoice:
    """`port` names a MIDI port (its number after a colon may change; the name counts).

    `low_latency` asks for short buffers on the speaker. `clock` sends MIDI clock and transport messages along.
    `channels` and `programs` (0-based) override a strand's own. `listen` names a MIDI input port, `controls` the
    pedals and keys that start and stop. `soundfont` is the path of a user's own .sf2 for the speaker.
    `backend` forces one of miniaudio's backends by name, such as `null`, which runs in real time with no sound card.
    """

    kind: OutputKind = "speaker"
    port: str = ""
    low_latency: bool = False
    clock: bool = False
    channels: tuple[tuple[Strand, int], ...] = ()
    programs: tuple[tuple[Strand, int], ...] = ()
    listen: str = ""
    controls: tuple[Control, ...] = PEDALS
    soundfont: str = ""
    backend: str = ""


SILENT = OutputChoice("silent")
HOW_TO_GET_SOUND = "plug in or switch on a sound device, or choose a MIDI port (earloop ports lists what is there)"


class OutputError(Exception):
    """An output can't be opened; the message says which and what to do."""
