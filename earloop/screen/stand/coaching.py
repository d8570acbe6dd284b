"""Practice as the stand sees it: what is played is noted, and a trouble with the journal is told once."""

from __future__ import annotations

from earloop.screen.stand.correcting import Correcting

LOOKS_A_SECOND = 4
"""How often the session is told to see how far the player is."""


class Coaching(Correcting):
    """The board with the journal and the plan."""

    _told = ""

    def on_mount(self) -> None:
        self.set_interval(1 / LOOKS_A_SECOND, self._mind_practice)

    def _mind_practice(self) -> None:
        if self.session is not None:
            self.session.practising.look()
        if self.diary is not None and self.diary.notice != self._told:
            self._told = self.diary.notice
            if self._told:
                self.say(self._told)
