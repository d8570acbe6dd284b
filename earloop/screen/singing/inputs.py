"""What can be listened to on this machine, as choices for a panel. Takes a moment: call it in a thread."""

from __future__ import annotations

from earloop.capture.microphone import microphone_names
from earloop.capture.sources import HOW_TO_BE_HEARD, NOTHING, Source
from earloop.sounding.midi_port import port_names
from earloop.sounding.outputs import OutputError

FROM_FILE = Source("file")
"""Stands for a recording whose name is yet to be asked for."""


def inputs() -> tuple[list[tuple[str, Source]], str]:
    """(what to choose from, a sentence where there is neither microphone nor keyboard)."""
    microphones = microphone_names()
    try:
        ports = port_names("in")
    except OutputError:
        ports = []
    options = [("microphone: the system's own", Source("microphone"))] if microphones else []
    options += [(f"microphone: {name}", Source("microphone", name)) for name in microphones]
    options += [(f"keyboard: {name}", Source("midi", name)) for name in ports]
    options += [("a recording, played in as though sung now", FROM_FILE), ("nothing", NOTHING)]
    problem = "" if microphones or ports else f"No microphone and no keyboard: {HOW_TO_BE_HEARD}."
    return options, problem
