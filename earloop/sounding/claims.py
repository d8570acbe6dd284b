"""Which channels of a MIDI port are this player's own, so that two players on one port never touch each other's tones.

A lock file for each channel of a port, in the user's runtime folder, says that it is taken; the system lets go of it
however its player ends. A player that ended without a goodbye left a book of the keys that may still sound.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from earloop.performing.events import STRANDS, Strand
from earloop.sounding.key_book import KeyBook
from earloop.sounding.outputs import OutputChoice
from earloop.sounding.timbres import PLACES

PERCUSSION = 9
SPARES = 2
"""So many further channels a player takes, for tones of another tuning. The rest is left to a second player."""
IN_TURN: tuple[Strand, ...] = ("upper", "lower", "drone", "held", "bridge", "middle", "single", "count")
"""Who gets a channel of its own first, where some are taken."""
SHARES: dict[Strand, Strand] = {
    "single": "upper", "middle": "lower", "held": "drone", "bridge": "upper", "count": "bridge",
    "drone": "lower", "lower": "upper",
}  # fmt: skip
"""Whose channel a strand shares where none is left for it."""
PATIENCE = 2.0


@dataclass(frozen=True, slots=True)
class Shares:
    """`home` is each strand's own channel, `spare` the further ones; `moved` are strands not on the channel wished."""

    home: dict[Strand, int]
    spare: tuple[int, ...]
    moved: tuple[Strand, ...] = ()

    @property
    def channels(self) -> tuple[int, ...]:
        return tuple(dict.fromkeys((*self.home.values(), *self.spare)))


def wished(choice: OutputChoice) -> dict[Strand, int]:
    """The channels a choice asks for, or the usual ones."""
    told = dict(choice.channels)
    return {strand: told.get(strand, PLACES[strand].channel) for strand in STRANDS}


def shared_out(wish: Mapping[Strand, int], take: Callable[[int], bool]) -> Shares | None:
    """Asks `take` for channel after channel; None where not one can be had."""
    ours = {channel for channel in dict.fromkeys(wish[strand] for strand in IN_TURN) if take(channel)}
    home: dict[Strand, int] = {strand: wish[strand] for strand in IN_TURN if wish[strand] in ours}
    free = [channel for channel in range(16) if channel not in ours and channel != PERCUSSION]
    pitched = {channel for channel in ours if channel != PERCUSSION}
    for strand in IN_TURN:
        if strand in home:
            continue
        found = None if strand == "count" else next((channel for channel in free if take(channel)), None)
        if found is not None:
            free = free[free.index(found) + 1 :]
            pitched.add(found)
        elif not pitched:
            return None
        else:
            found = home.get(SHARES.get(strand, "upper"), min(pitched))
        home[strand] = found
    moved = tuple(strand for strand in STRANDS if home[strand] != wish[strand])
    spare = [] if moved else [channel for channel in free[:SPARES] if take(channel)]
    return Shares({strand: home[strand] for strand in STRANDS}, tuple(spare), moved)


class Claims:
    """The channels of one port. Where no lock can be kept, every channel is given: better heard than not."""

    def __init__(self, port: str, folder: Path | None = None) -> None:
        """`port` with its MIDI system, so that ports of one name on two servers are two."""
        self._folder = (folder or _runtime_folder()) / hashlib.sha256(port.encode()).hexdigest()[:16]
        self._locks: dict[int, Any] = {}
        self._books: dict[int, KeyBook] = {}
        self.left: dict[int, frozenset[int]] = {}
        """Channel → keys that a player which ended without a goodbye may have left sounding there."""

    def share_out(self, wish: Mapping[Strand, int]) -> Shares | None:
        """Takes what is free of the channels wished, while no other player does the same."""
        from filelock import FileLock, Timeout

        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            with FileLock(self._folder / "door", timeout=PATIENCE):
                return shared_out(wish, self._take)
        except (OSError, Timeout):
            return shared_out(wish, lambda channel: True)

    def release(self) -> None:
        """Says goodbye: nothing of ours sounds any more."""
        for channel, lock in self._locks.items():
            self._books[channel].goodbye()
            lock.release()
        self._locks.clear()
        self._books.clear()

    def sounds(self, channel: int, key: int) -> None:
        """To be called before a note on leaves."""
        if channel in self._books:
            self._books[channel].sounds(key)

    def _take(self, channel: int) -> bool:
        from filelock import FileLock, Timeout

        lock = FileLock(self._folder / f"{channel}.lock")
        try:
            lock.acquire(timeout=0)
        except Timeout:
            return False
        self._locks[channel] = lock
        book = self._books[channel] = KeyBook(self._folder / f"{channel}")
        if book.left is not None:
            self.left[channel] = book.left
        return True


def _runtime_folder() -> Path:
    from platformdirs import user_runtime_path

    return Path(user_runtime_path("earloop")) / "channels"


def full_name(system: str, port: str) -> str:
    """A port's name with the server it is on."""
    return f"{system} {os.environ.get('JACK_DEFAULT_SERVER', '')} {port}"
