"""The kept reading, written off the task that answers keys. Every decision is on its way to the disk at once."""

from __future__ import annotations

import contextlib
import threading
from pathlib import Path

from earloop.line import Line
from earloop.reading import Decisions
from earloop.scores.kept_reading import KeptReading
from earloop.session.newest import Newest

PAUSE = 0.03
"""Seconds until writing begins: the frame that answers the key goes first. What is decided is to be on the disk within
a tenth of a second, and a long file takes a quarter of that."""


class KeptBehind(KeptReading):
    """Writes in the order of the decisions; while one is written, the newest of those after it waits.

    The file always holds everything decided, so what the newest replaces is in it too.
    """

    def __init__(
        self, score: Path, line: Line, data_folder: Path | None = None, beside: bool = True, word: str = ""
    ) -> None:
        self._one = threading.Lock()
        self._failed: Decisions | None = None
        super().__init__(score, line, data_folder, beside, word)
        self._writing: Newest[Decisions, str] = Newest(self._written_or_told, "earloop keeping decisions", PAUSE)

    def keep(self, decided: Decisions) -> None:
        """Write these decisions. Returns at once."""
        self._writing.ask(decided)

    def told(self) -> list[str]:
        """Sentences that came up while writing, since the last call."""
        return [told for _, told in self._writing.found() if told]

    def save(self, decided: Decisions) -> str:
        """Write these decisions now; see `KeptReading.save`."""
        with self._one:
            return super().save(decided)

    def text(self, decided: Decisions) -> str:
        """See `KeptReading.text`."""
        with self._one:
            return super().text(decided)

    def put_by(self) -> str:
        """See `KeptReading.put_by`; what is still on its way is in the copy too."""
        self._writing.finish()
        return super().put_by()

    def close(self) -> None:
        """Write what still waits, then let others have the file."""
        self._writing.finish()
        if self._failed is not None:
            with contextlib.suppress(OSError):
                self.save(self._failed)
        super().close()

    def _written_or_told(self, decided: Decisions) -> str:
        try:
            told = self.save(decided)
        except OSError as error:
            self._failed = decided
            return f"{self.path} can't be written ({error.strerror or error}): make room; the next act tries again."
        self._failed = None
        return told
