"""A MIDI port: found by its name, opened through python-rtmidi, silenced whatever happens.

Live messages go to python-rtmidi as plain lists of numbers: building mido's message objects would allocate in the
loop whose timing counts. Files go through mido.
"""

from __future__ import annotations

import re
import time
from collections.abc import Mapping
from itertools import count
from typing import Any

from earloop.performing.events import Strand
from earloop.sounding import midi_words
from earloop.sounding.channels import KNOCKS, Channels
from earloop.sounding.claims import PERCUSSION, Claims, Shares, full_name, wished
from earloop.sounding.outputs import Left, OutputChoice, OutputError
from earloop.sounding.quiet import quiet_stderr
from earloop.sounding.server_watch import LEFT_BEHIND, ServerWatch

NO_MIDI = (
    "MIDI ports need python-rtmidi: pip install python-rtmidi (from Python 3.13 on it is compiled on the spot, "
    "which needs a C++ compiler and the ALSA headers)"
)


OURS = "earloop:"
"""How the systems name the ports of a player like this one: it is nobody's keyboard."""


QUEUE_EMPTIES = 0.03
"""Seconds. Messages lie in the system's queue for a moment: closing at once would lose the last note offs."""


AT_ONCE, EMPTIES = 128, 0.02
"""So many note offs a server gets at once, and so many seconds for them."""


def rtmidi_library() -> Any:
    """The module, or OutputError with what to install."""
    try:
        import rtmidi
    except ImportError as error:
        raise OutputError(NO_MIDI) from error
    return rtmidi


def clients(direction: str) -> list[Any]:
    """One unconnected client (`out` or `in`) for each MIDI system of this machine that answers."""
    rtmidi = rtmidi_library()
    make = rtmidi.MidiOut if direction == "out" else rtmidi.MidiIn
    found = []
    with quiet_stderr():
        for api in rtmidi.get_compiled_api():
            if api == rtmidi.API_RTMIDI_DUMMY:
                continue
            try:
                found.append(make(rtapi=api, name="earloop"))
            except (rtmidi.RtMidiError, SystemError, RuntimeError):
                continue
    return found


def port_names(direction: str = "out") -> list[str]:
    """Names of the ports there are, without doubles and without our own; empty where there is no MIDI system."""
    names: list[str] = []
    for client in clients(direction):
        names += [name for name in port_names_of(client) if name not in names and not name.startswith(OURS)]
        with quiet_stderr():
            client.delete()
    return names


def port_names_of(client: Any) -> list[str]:
    """What a client sees; nothing where its MIDI system has gone."""
    with quiet_stderr():
        try:
            return list(client.get_ports())
        except (SystemError, RuntimeError, OSError):
            return []


def plain_name(name: str) -> str:
    """A port's name without the numbers that systems add and that change when it is plugged in again."""
    return re.sub(r"\s*\(\d+\)|\s+\d+:\d+$", "", name).strip().casefold()


def match(wanted: str, names: list[str]) -> int | None:
    """Index of the port meant: the very name, the same without numbers, or the only one that contains it."""
    if wanted in names:
        return names.index(wanted)
    plain = [plain_name(name) for name in names]
    key = plain_name(wanted)
    if key in plain:
        return plain.index(key)
    holding = [index for index, name in enumerate(plain) if key and key in name]
    return holding[0] if len(holding) == 1 else None


def connect(direction: str, wanted: str) -> tuple[Any, str]:
    """An open client and its port's full name. Raises OutputError with the names that are there."""
    seen: list[str] = []
    for client in clients(direction):
        names = port_names_of(client)
        index = match(wanted, names)
        with quiet_stderr():
            if index is not None:
                client.open_port(index, name="earloop")
                return client, names[index]
            client.delete()
        seen += names
    there = "there is " + ", ".join(repr(name) for name in seen) if seen else "there is no MIDI port at all"
    raise OutputError(f"no MIDI port is called {wanted!r}; {there}")


def port_there(wanted: str, direction: str = "out") -> None:
    """Raises OutputError, with the names that are there, where no port is meant by that name now."""
    client, _ = connect(direction, wanted)
    with quiet_stderr():
        client.close_port()
        client.delete()


class MidiPort:
    """Sends at once what it is told; its clock is the machine's steady one."""

    def __init__(self, choice: OutputChoice, level: float = 0.5, left: Left = frozenset()) -> None:
        """`left` are tones of a player that was killed; they are ended on opening."""
        self.choice = choice
        self.name = choice.port
        self.conducts = choice.clock
        self._left = left
        self.remark = ""
        self._level = self._as_volume(level)
        self._channels = Channels(choice, self._level)
        self._claims: Claims | None = None
        self._watch: ServerWatch | None = None
        self._numbers = count(1)
        self.handed_at = 0.0
        self._clock = [midi_words.CLOCK]
        self._out: Any = None

    def open(self) -> None:
        """Connects, takes channels and sets them up. Raises OutputError."""
        out, self.name = connect("out", self.choice.port)
        self._claims = claims = Claims(full_name(str(out.get_current_api()), self.name))
        shares = claims.share_out(wished(self.choice))
        if shares is None:
            with quiet_stderr():
                out.close_port()
                out.delete()
            claims.release()
            raise OutputError(f"other players have taken every channel of {self.name}: close one of them")
        if shares.moved:
            self.remark = f"another player is on {self.name}: this one sounds on {_named(shares)}"
        self._channels = Channels(self.choice, self._level, shares)
        self._out, self._watch = out, watch_of(out)
        self._end_what_was_left(self._may_sound(claims.left))
        self._all(self._channels.prepared())

    def _may_sound(self, written: Mapping[int, frozenset[int]]) -> dict[int, frozenset[int]]:
        """Channel → keys to end: what was written down there, else what this player may have sounded.

        A tone for which its line's channel had no room was on a spare one: any of the keys may be there.
        """
        found = dict(written)
        if self._left:
            channels = self._channels
            for channel in channels.home.values():
                keys = {key for strand, key in self._left if channels.home[strand] == channel}
                found.setdefault(channel, frozenset(keys).union(KNOCKS if channel == PERCUSSION else ()))
            for channel in channels.spare:
                found.setdefault(channel, frozenset(key for strand, key in self._left if strand != "count"))
        return found

    def _end_what_was_left(self, keys: Mapping[int, frozenset[int]]) -> None:
        """On each channel note offs first, then the controllers.

        Few messages: a server that is late hands on only so many at once, and drops the rest. And twice, each time
        after a moment: a server may drop what comes before it has the fresh connection in its order, or while it is
        late, and nothing tells the sender.
        """
        for _ in range(2 if keys else 0):
            waiting = AT_ONCE
            for channel, left in keys.items():
                if waiting + len(left) > AT_ONCE:
                    time.sleep(EMPTIES)
                    waiting = 0
                self._all(list(midi_words.panic(channel, sorted(left))))
                waiting += len(left)
            time.sleep(EMPTIES)

    def now(self) -> float:
        return time.monotonic()

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        voice = next(self._numbers)
        words = self._channels.begun(voice, midi, cents, loudness, strand)
        if self._claims is not None:
            held = self._channels.held[voice]
            self._claims.sounds(held.channel, held.key)
        self._all(words)
        self.handed_at = time.monotonic()
        return voice

    def stop(self, voice: int, at: float) -> None:
        self._all(self._channels.ended(voice))

    def level(self, level: float) -> None:
        self._channels.volume = self._as_volume(level)
        for channel in self._channels.in_use:
            self._send(midi_words.control(channel, midi_words.VOLUME, self._channels.volume))

    @property
    def dead(self) -> bool:
        """Whether the server of the port has died. Costs nothing."""
        return self._watch is not None and self._watch.look()

    @property
    def lost(self) -> bool:
        """Whether the port has gone. Asks the system: call it in a quiet moment."""
        return self.dead or (self._out is not None and match(self.name, port_names_of(self._out)) is None)

    def begin_at(self, quarters: float) -> None:
        """Tells a sequencer that follows where the music begins."""
        if quarters <= 0:
            self._send([midi_words.BEGIN])
        else:
            self._send(midi_words.song_place(quarters))
            self._send([midi_words.CONTINUE])

    def tick(self) -> None:
        self._send(self._clock)

    def halt(self) -> None:
        self._send([midi_words.HALT])

    def silence(self) -> None:
        self._all(self._channels.silenced())

    def close(self) -> None:
        out, self._out = self._out, None
        if out is None:
            return
        if self.dead:
            LEFT_BEHIND.append(out)
        else:
            self._out = out
            self.silence()
            time.sleep(QUEUE_EMPTIES)
            self._out = None
            with quiet_stderr():
                out.close_port()
                out.delete()
        if self._watch is not None:
            self._watch.close()
        if self._claims is not None:
            self._claims.release()

    @staticmethod
    def _as_volume(level: float) -> int:
        return round(127 * min(1.0, max(0.0, level)))

    def _all(self, messages: list[list[int]]) -> None:
        for words in messages:
            self._send(words)

    def _send(self, words: list[int]) -> None:
        if self._out is not None and not (self._watch is not None and self._watch.gone):
            self._out.send_message(words)


def watch_of(client: Any) -> ServerWatch | None:
    """A watch over the server a client is connected to, where it needs one."""
    if client.get_current_api() != rtmidi_library().API_UNIX_JACK:
        return None
    watch = ServerWatch()
    return watch if watch.open() else None


def _named(shares: Shares) -> str:
    numbers = sorted(channel + 1 for channel in shares.channels)
    if len(numbers) == 1:
        return f"channel {numbers[0]}"
    whole = numbers == list(range(numbers[0], numbers[-1] + 1))
    return f"channels {numbers[0]} to {numbers[-1]}" if whole else f"channels {', '.join(map(str, numbers))}"
