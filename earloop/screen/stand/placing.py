"""Placing by hand, from the stand, what lost its tone when the score changed."""

from __future__ import annotations

from earloop.screen.panels.placing import Placing
from earloop.screen.stand.correcting import Correcting


class PlacingByHand(Correcting):
    """The board with the decisions that wait for a tone."""

    def action_place(self) -> None:
        if self.session is None:
            return
        if not self.session.desk.decided.unplaced:
            self.say("Every decision has its place in this score.")
            return
        self.app.push_screen(Placing(self.session, self.signs, self._decide), lambda _: self.show())
