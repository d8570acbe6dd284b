"""Correcting from the stand: each act of the desk at the cursor's tone, heard at the next pass."""

from __future__ import annotations

from collections.abc import Callable

from earloop.line import Span
from earloop.reading.record import Key
from earloop.screen.keys import When
from earloop.screen.panels.ask import Ask
from earloop.screen.picture.phrase_view import PhraseView
from earloop.screen.stand.playing import Playing

LONGEST_WORD = 60
"""A word over a tone is a word, not a page."""
PICK = "Go to the tone it decorates and press x there; q leaves it as it was."
PICK_RELEASE = "Go to the tone it releases to and press Y there; q leaves it as it was."


class Correcting(Playing):
    """The board with the desk's acts."""

    def action_desk(self, name: str, *values: object) -> None:
        """An act of the desk, by its name, on the cursor's tone."""
        if self.session is None:
            return
        if self.picking is not None:
            self._stop_picking("")
            if name == "back_to_proposal":
                return
        act = getattr(self.session.desk, name)
        self._decide(lambda: act(self.session.cursor, *values))  # type: ignore[union-attr]

    def _decide(self, act: Callable[[], object], said: str = "") -> None:
        """Do it, hear it from the next pass on, and say so where there was nothing to do."""
        assert self.session is not None
        before, told = self.session.desk.decided, self.session.notice
        act()
        changed = self.session.desk.decided != before
        if changed:
            self.session.decided()
        if self.session.notice != told:
            said = self.session.notice
        self.said = said if changed else "Nothing to change there."
        self.show()

    def action_undo(self) -> None:
        self._step_back("undo", "Taken back")

    def action_redo(self) -> None:
        self._step_back("redo", "Done again")

    def _step_back(self, name: str, said: str) -> None:
        if self.session is None:
            return
        what = getattr(self.session.desk, name)()
        if what:
            self.session.decided()
        self.said = f"{said}: {what}." if what else "There is nothing more to step through."
        self.show()

    def action_decorates(self) -> None:
        """First: this tone; then, at another: it decorates that one."""
        picked = self._picked("picking", PICK)
        if picked is not None:
            self._decide(lambda: self.session.desk.decorate(*picked))  # type: ignore[union-attr]

    def action_leans_to(self) -> None:
        """First: this tone; then, at a later one: it releases to that one."""
        picked = self._picked("releasing", PICK_RELEASE)
        if picked is not None:
            self._decide(lambda: self.session.desk.lean_to(*picked))  # type: ignore[union-attr]

    def _picked(self, what: When, said: str) -> tuple[int, int] | None:
        """(first tone, this tone) at the second press; at the first the tone waits, and `said` tells how to go on."""
        if self.session is None:
            return None
        if self.picking is None or self.picks != what:
            self.picking, self.picks, self.said = self.session.cursor, what, said
            self.show()
            return None
        pair = self.picking, self.session.cursor
        self._stop_picking("")
        return pair

    def _stop_picking(self, said: str) -> None:
        assert self.session is not None
        ornament, self.picking, self.said = self.picking, None, said
        if ornament is not None:
            self.session.point_at(ornament)
        self.show()

    def action_link(self) -> None:
        """Join with the marked tone; the nearer in time of two marks."""
        if self.session is None:
            return
        cursor = self.session.cursor
        marked = [index for index in self.session.marks or () if index != cursor]
        if not marked:
            self.said = "Mark one tone (m), go to the other, then join them (j)."
            self.show()
            return
        other = min(marked, key=lambda index: abs(index - cursor))
        self._decide(lambda: self.session.desk.turn_link(other, cursor))  # type: ignore[union-attr]

    def action_home_key(self) -> None:
        if self.session is not None:
            key = self._key_here(self.session.reading.home.key)
            self._decide(lambda: self.session.desk.set_home(key))  # type: ignore[union-attr]

    def action_local_key(self) -> None:
        """Over the marked tones where the cursor is among them, else over the cursor's gesture."""
        if self.session is None:
            return
        reading, cursor, marks = self.session.reading, self.session.cursor, self.session.marks
        here = reading.gesture_of(cursor)
        span = reading.gestures[here]
        if marks is not None and marks[0] != marks[1] and min(marks) <= cursor <= max(marks):
            span = Span(min(marks), max(marks))
        key = self._key_here(reading.local[here].key)
        self._decide(lambda: self.session.desk.set_local(span, key))  # type: ignore[union-attr]

    def _key_here(self, present: Key) -> Key:
        """The cursor's tone as tonic; where it is that already, the other mode."""
        assert self.session is not None
        fifths = self.session.line[self.session.cursor].pitch.fifths
        if fifths != present.fifths:
            return Key(fifths, present.mode)
        return Key(fifths, "minor" if present.mode == "major" else "major")

    def action_word(self) -> None:
        if self.session is None:
            return
        index = self.session.cursor
        present = dict(self.session.reading.words).get(index, "")

        def write(answer: str | None) -> None:
            if answer is not None and answer != present:
                self._decide(lambda: self.session.desk.write_word(index, answer))  # type: ignore[union-attr]

        self.app.push_screen(Ask(f"A word over tone {index + 1}", present, LONGEST_WORD), write)

    def on_tone_view_tone_chosen(self, message: PhraseView.ToneChosen) -> None:
        """A click puts the cursor there; while a tone is waiting for another, it is that one."""
        message.prevent_default()
        self.action_session("point_at", message.index)
        if self.picking is not None:
            again = self.action_decorates if self.picks == "picking" else self.action_leans_to
            again()
