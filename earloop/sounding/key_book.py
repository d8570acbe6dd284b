"""Which keys a player has sounded on a channel of a port, written down so that it outlives a player that is killed.

One byte for each MIDI key, in a file that lies in memory: writing down a key costs next to nothing and waits for
nothing. A key stays written until the player says goodbye, as the last note offs of a killed one may never have left
its process.
"""

from __future__ import annotations

import mmap
from pathlib import Path

KEYS = 128
ALL_KEYS = frozenset(range(KEYS))
SIZE = 1 + KEYS
"""A byte that says whether a player is there or left without a goodbye, then one for each key."""


class KeyBook:
    """`left` are the keys an earlier player may have left sounding; None where it said goodbye."""

    def __init__(self, path: Path) -> None:
        self.left: frozenset[int] | None = None
        self._bytes: mmap.mmap | bytearray = bytearray(SIZE)
        try:
            with path.open("a+b") as file:
                before = file.seek(0, 2)
                file.truncate(SIZE)
                self._bytes = mmap.mmap(file.fileno(), SIZE)
        except (OSError, ValueError):
            # Nobody can tell what sounded before.
            self.left = ALL_KEYS
            return
        if before not in (0, SIZE):
            self.left = ALL_KEYS
        elif self._bytes[0]:
            self.left = frozenset(key for key in range(KEYS) if self._bytes[1 + key])
        self._bytes[0] = 1

    def sounds(self, key: int) -> None:
        """To be called before its note on leaves."""
        if not self._bytes[1 + key]:
            self._bytes[1 + key] = 1

    def goodbye(self) -> None:
        """Nothing of ours sounds any more."""
        self._bytes[:] = bytes(SIZE)
        if isinstance(self._bytes, mmap.mmap):
            self._bytes.close()
        self._bytes = bytearray(SIZE)
