"""The map of the whole piece, from the stand."""

from __future__ import annotations

from earloop.screen.stand.playing import Playing
from earloop.screen.whole.whole_piece import WholePiece


class WholeInSight(Playing):
    """The board with the map over it."""

    def action_map(self) -> None:
        if self.session is None:
            return

        def go(phrase: int | None) -> None:
            if phrase is not None:
                self.action_session("go_to_phrase", phrase)

        self.app.push_screen(WholePiece(self.session, self.signs), go)
