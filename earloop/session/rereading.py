"""Reading again around decisions: at once, or later so that no key is held up, with a first look meanwhile."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from earloop.reading import Decisions, Reading
from earloop.reading.at_once import at_once, is_whole
from earloop.reading.read import Readers
from earloop.session.newest import Newest

REMEMBERED = 24
"""So many newest readings are at hand for undo and redo; older ones are read again, which gives the same."""
MOST_TONES = 50_000
"""All of them together: of a line of very many tones fewer are remembered."""
SHORT = 300
"""Tones of a line that is read so soon that its decisions wait for it (PATIENCE seconds) and need no second picture."""
PATIENCE = 0.008
PAUSE = 0.045
"""Seconds until longer lines are read again: the first look is drawn by then; keys pressed in a run are one reading."""


class Rereading:
    """The reading of one line by what is decided. `settled` says that it is the readers' own, and not a first look.

    `prepare` is called with each new reading, on the readers' thread.
    """

    def __init__(
        self, readers: Readers, reading: Reading, decided: Decisions, later: bool, prepare: Callable[[Reading], object]
    ) -> None:
        self.reading, self.settled = reading, True
        self._decided = decided
        long = later and len(readers.line) > SHORT

        def read_and_prepared(decided: Decisions) -> Reading:
            reading = readers.read(decided)
            prepare(reading)
            return reading

        self._patience = None if not later else 0.0 if long else PATIENCE
        self._readers: Newest[Decisions, Reading] = Newest(
            read_and_prepared, "earloop reading again", PAUSE if long else 0.0
        )
        remembered = max(2, min(REMEMBERED, MOST_TONES // len(readers.line)))
        self._known: deque[tuple[Decisions, Reading]] = deque([(decided, reading)], remembered)

    def take(self, decided: Decisions, shown: Reading) -> None:
        """These decisions stand from now on; `shown` is what is seen so far."""
        before, self._decided = self._decided, decided
        known = next((reading for made, reading in self._known if made is decided), None)
        if known is not None:
            self._readers.forget()
            self.reading, self.settled = known, True
            return
        first_look = at_once(shown, before, decided)
        if self.settled and is_whole(before, decided):
            self._settle(first_look)
            return
        self.reading, self.settled = first_look, False
        self._readers.ask(decided)
        self.finish(self._patience)

    def news(self) -> bool:
        """Whether the readers' own reading of what is decided now has come; it is `reading` from then on."""
        for decided, reading in self._readers.found():
            if decided is self._decided and not self.settled:
                self._settle(reading)
                return True
        return False

    def finish(self, patience: float | None = None) -> bool:
        """Wait for the readers, at most so many seconds; whether they have come."""
        if self._readers.finish(patience):
            self.news()
        return self.settled

    def _settle(self, reading: Reading) -> None:
        self.reading, self.settled = reading, True
        self._known.append((self._decided, reading))
