"""Playing from the stand: each command of the session by its key, and the cursor over the tones."""

from __future__ import annotations

from earloop.screen.picture.phrase_view import PhraseView
from earloop.screen.stand.board import Board


class Playing(Board):
    """The board with the session's commands."""

    def action_session(self, name: str, *values: object) -> None:
        """A command of the session by its name."""
        if self.session is not None:
            getattr(self.session, name)(*values)
            self.said = ""
            self.show()

    def action_step(self, by: int) -> None:
        self.action_session("step", by)

    def action_gesture(self, by: int) -> None:
        """To the start of the next gesture, or of this one and then the one before."""
        if self.session is None:
            return
        gestures, cursor = self.session.reading.gestures, self.session.cursor
        here = self.session.reading.gesture_of(cursor)
        if by > 0 or cursor == gestures[here].first:
            here = max(0, min(len(gestures) - 1, here + by))
        self.action_session("point_at", gestures[here].first)

    def action_seek(self) -> None:
        if self.session is not None:
            self.action_session("seek_to", self.session.cursor)

    def on_tone_view_tone_chosen(self, message: PhraseView.ToneChosen) -> None:
        self.action_session("point_at", message.index)
