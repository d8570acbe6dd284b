"""What goes through the pipe: commands to the engine, reports back. Length first, then a pickle of our own making."""

from __future__ import annotations

import pickle
import struct
from dataclasses import dataclass, replace
from typing import Any

from earloop.performing.events import Event, Performance

HEADER = struct.Struct("<I")
Command = tuple[str, tuple[Any, ...]]
PORTION = 200
"""Events in one message: about a third of a millisecond's work."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """Where the player is, as it is heard now.

    `position` is in performed quarters of the pass (negative in a count-in), `line_position` in the line's own
    quarters; `pass_number` from 1 (0: stopped); `source` the index of the tone begun last; `tempo` a factor; `ended`
    how often the passes asked for ran out. `output` and `notice` are sentences for the screen; `notice` is empty where
    all is well. `next_asked` counts how often a pedal asked for the next phrase; `heard` counts the tones played on the
    MIDI input and `notes` are the last ones as (monotonic second, key, velocity). `handled` counts the commands obeyed;
    `handed_at` and `changed_at` are the monotonic seconds at which sound last set in and of the last command in
    effect. `restarts` says how often the engine had to be set up again. `at` is the monotonic second at which the
    positions hold.
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
    at: float = 0.0


Doing = tuple[float, float, str]
"""Something the engine itself did that took long: monotonic second, how long, what."""


@dataclass(frozen=True, slots=True)
class Measure:
    """How late each moment was sounded, in seconds, the last ones; what the system allowed; the memory in use (KiB).

    `due` are the moments' own monotonic seconds, `woken` how late the engine was awake for each (negative: early).
    """

    lateness: tuple[float, ...]
    steadied: tuple[str, ...]
    memory: int
    due: tuple[float, ...] = ()
    woken: tuple[float, ...] = ()
    doings: tuple[Doing, ...] = ()


def packed(message: Any) -> bytes:
    body = pickle.dumps(message, protocol=5)
    return HEADER.pack(len(body)) + body


def portions(command: Command) -> list[bytes]:
    """A command as messages, none of which takes the engine long: a long performance goes ahead in `more`s."""
    name, values = command
    if name != "load":
        return [packed(command)]
    performance: Performance = values[0]
    events, places = performance.events, performance.position_map
    count = max(len(events), len(places))
    cuts = range(0, max(0, count - PORTION), PORTION)
    messages = [packed(("more", (events[k : k + PORTION], places[k : k + PORTION]))) for k in cuts]
    rest = replace(performance, events=events[len(cuts) * PORTION :], position_map=places[len(cuts) * PORTION :])
    return [*messages, packed(("load", (rest, *values[1:])))]


class Gathered:
    """The portions of a performance that have come so far."""

    def __init__(self) -> None:
        self._events: list[Event] = []
        self._places: list[tuple[float, float]] = []

    def add(self, events: tuple[Event, ...], places: tuple[tuple[float, float], ...]) -> None:
        self._events += events
        self._places += places

    def whole(self, rest: Performance) -> Performance:
        """The performance whose last portion is `rest`; gathering begins anew."""
        if not (self._events or self._places):
            return rest
        events, places = (*self._events, *rest.events), (*self._places, *rest.position_map)
        self._events, self._places = [], []
        return replace(rest, events=events, position_map=places)


class Unpacker:
    """Bytes in any portions → the messages that are complete."""

    def __init__(self) -> None:
        self._bytes = bytearray()

    def add(self, portion: bytes) -> None:
        self._bytes += portion

    @property
    def waits(self) -> bool:
        """Whether a complete message is there."""
        known = len(self._bytes) >= HEADER.size
        return known and len(self._bytes) >= HEADER.size + int(HEADER.unpack_from(self._bytes)[0])

    def take(self) -> Any:
        """The next message; only while one `waits`."""
        end = HEADER.size + HEADER.unpack_from(self._bytes)[0]
        body = bytes(self._bytes[HEADER.size : end])
        del self._bytes[:end]
        return pickle.loads(body)

    def feed(self, portion: bytes) -> list[Any]:
        self.add(portion)
        messages = []
        while self.waits:
            messages.append(self.take())
        return messages
