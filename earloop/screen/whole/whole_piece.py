"""The map: the course of the whole line, and a list of its phrases; one goes to a phrase from here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import ClassVar

from textual import events
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.widget import Widget
from textual.widgets import Static

from earloop.line.counted import counted
from earloop.screen.long_list import LongList
from earloop.screen.panels.panel import Panel
from earloop.screen.signs import Signs
from earloop.screen.whole.course import BESIDES, phrase_keys
from earloop.screen.whole.course_view import FEW_ROWS, MANY_ROWS, CourseView
from earloop.session.session import Session

LOOKS_A_SECOND = 8
ROWS_BESIDES = 15
"""Rows of the panel that are neither the contour nor the list at its smallest."""


class WholePiece(Panel[int]):
    """Dismissed with the phrase to go to (0-based)."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,p", "by(-1)", "phrase before", show=False),
        Binding("right,n", "by(1)", "next phrase", show=False),
        Binding("d", "decided", "next decided", show=False),
        Binding("space", "play", "play", show=False),
        Binding("N", "dismiss(None)", "back", show=False),
    ]
    keys_line = "{up} {down} choose  enter go there  d next by hand  space play  q back"

    def __init__(self, session: Session, signs: Signs) -> None:
        told = (
            counted(len(session.line), "tone"),
            counted(len(session.reading.phrases), "phrase"),
            f"home {signs.key(session.reading.home.key.name)}",
            session.line.title or "the whole piece",
        )
        super().__init__(f" {signs.dot} ".join(told))
        self.session, self.signs = session, signs
        self.decided = Counter(session.reading.phrase_of(tone) for tone in session.desk.decided.tones)
        self.keys_here = phrase_keys(session.reading)

    def body(self) -> Iterable[Widget]:
        signs = self.signs
        course = CourseView(self.session, signs, self.session.phrase)
        course.styles.height = self._rows(self.app.size) + BESIDES
        yield course
        said = f"{signs.cursor} chosen  {signs.loop} looped  {signs.playing} sounds  {signs.decided} by hand"
        yield Static(f"{said}  a: A minor", classes="panel-note", markup=False)
        yield LongList(self._row, len(self.session.reading.phrases), self.session.phrase)

    def on_mount(self) -> None:
        self.query_one(LongList).focus()
        self.set_interval(1 / LOOKS_A_SECOND, self.look)
        self.look()

    def on_resize(self, event: events.Resize) -> None:
        self.query_one(CourseView).styles.height = self._rows(event.size) + BESIDES

    def _rows(self, size: Size) -> int:
        """Of the contour, in a window of that size."""
        return max(FEW_ROWS, min(MANY_ROWS, (size.height - ROWS_BESIDES) // 2))

    def look(self) -> None:
        """Where the sound is."""
        at = self.session.position()
        self.query_one(CourseView).place(at.tone if at.playing else None)

    def _row(self, phrase: int) -> str:
        reading, line, signs = self.session.reading, self.session.line, self.signs
        span = reading.phrases[phrase]
        first, last = line[span.first].measure, line[span.last].measure
        where = f"tones {span.first + 1} to {span.last + 1}" if len(span) > 1 else f"tone {span.first + 1}"
        if first and last:
            where += f", bar {first}" if first == last else f", bars {first} to {last}"
        degrees = " to ".join(signs.accidentals(str(reading.degrees[index])) for index in (span.first, span.last))
        hand = f"  {signs.decided} {self.decided[phrase]} by hand" if self.decided[phrase] else ""
        return f"{phrase + 1:>4}  {where:<36} {signs.key(self.keys_here[phrase]):<9} {degrees}{hand}"

    def _chosen(self) -> int:
        return self.query_one(LongList).chosen or 0

    def action_by(self, step: int) -> None:
        self.query_one(LongList).action_by(step)

    def action_decided(self) -> None:
        """The next phrase about which something is decided; after the last, the first."""
        here, held = self._chosen(), sorted(self.decided)
        if held:
            self.query_one(LongList).choose(next((phrase for phrase in held if phrase > here), held[0]))

    def action_play(self) -> None:
        self.session.play_or_stop()
        self.look()

    def on_long_list_chosen(self, event: LongList.Chosen) -> None:
        self.query_one(CourseView).choose(event.place)

    def on_long_list_taken(self, event: LongList.Taken) -> None:
        self.dismiss(event.place)

    def on_course_view_phrase_clicked(self, event: CourseView.PhraseClicked) -> None:
        self.dismiss(event.phrase)
