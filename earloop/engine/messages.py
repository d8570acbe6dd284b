"""What goes through the pipe: commands to the engine, reports back. Length first, then a pickle of our own making."""

from __future__ import annotations

import pickle
import struct
from dataclasses import dataclass
from typing import Any

HEADER = struct.Struct("<I")
Command = tuple[str, tuple[Any, ...]]


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Where the player is, as it is heard now.

    `position` is in performed quarters of the pass (negative in a count-in), `line_position` in the line's own
    quarters; `pass_number` from 1 (0: stopped); `source` the index of the tone begun last; `tempo` a factor; `ended`
    how often the passes asked for ran out. `output` and `notice` are sentences for the screen; `notice` is empty where
    all is well. `next_asked` counts how often a pedal asked for the next phrase; `heard` counts the tones played on the
    MIDI input and `notes` are the last ones as (monotonic second, key, velocity). `handled` counts the commands obeyed;
    `handed_at` and `changed_at` are the monotonic seconds at which sound last set in and of the last command in
    effect. `restarts` says how often the engine had to be set up again.
    """

    playing: bool = False
    pass_number: int = 0
    position: float = 0.0
    line_position: float = 0.0
    source: int | None = None
    tempo: float = 1.0
    ended: int = 0
    output: str = ""
    notice: str = ""
    next_asked: int = 0
    heard: int = 0
    notes: tuple[tuple[float, int, int], ...] = ()
    handled: int = 0
    handed_at: float = 0.0
    changed_at: float = 0.0
    restarts: int = 0


@dataclass(frozen=True, slots=True)
class Measure:
    """How late each moment was sounded, in seconds, the last ones; what the system allowed; the memory in use (KiB)."""

    lateness: tuple[float, ...]
    steadied: tuple[str, ...]
    memory: int


def packed(message: Any) -> bytes:
    body = pickle.dumps(message, protocol=5)
    return HEADER.pack(len(body)) + body


class Unpacker:
    """Bytes in any portions → the messages that are complete."""

    def __init__(self) -> None:
        self._bytes = bytearray()

    def feed(self, portion: bytes) -> list[Any]:
        self._bytes += portion
        messages = []
        while len(self._bytes) >= HEADER.size:
            size = HEADER.unpack_from(self._bytes)[0]
            if len(self._bytes) < HEADER.size + size:
                break
            messages.append(pickle.loads(self._bytes[HEADER.size : HEADER.size + size]))
            del self._bytes[: HEADER.size + size]
        return messages
