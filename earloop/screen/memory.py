"""When memory is searched for garbage: a search of everything a long score brought takes longer than a key may."""

from __future__ import annotations

import gc
import time

SEARCHES = 200
"""Short searches until one of all that is new comes by itself, rather than Python's 10: it is left to quiet moments."""
QUIET = 0.4
"""Seconds without a key or the mouse that make a moment quiet."""
WORTH_IT = 10
"""Short searches since the last long one for which a quiet moment is used: so much has been made meanwhile."""


def settle_memory() -> None:
    """Set aside what a score brought with it, and leave the long searches to `Tidying`."""
    first, second, _ = gc.get_threshold()
    gc.set_threshold(first, second, SEARCHES)
    gc.unfreeze()
    gc.collect()
    gc.freeze()


class Tidying:
    """Searches in quiet moments; tell it of all that is pressed, and ask it to `look` now and then."""

    def __init__(self) -> None:
        self._pressed = time.monotonic()

    def pressed(self) -> None:
        """A key, or the mouse."""
        self._pressed = time.monotonic()

    @property
    def quiet(self) -> bool:
        """Whether nothing has been pressed for a while."""
        return time.monotonic() - self._pressed >= QUIET

    def look(self) -> bool:
        """Whether this was a quiet moment with something to search for."""
        if not self.quiet or gc.get_count()[2] < WORTH_IT:
            return False
        gc.collect()
        # What has outlived that is not looked at again before the next score.
        gc.freeze()
        return True
