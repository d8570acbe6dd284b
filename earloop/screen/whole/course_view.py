"""The course on the screen, with the place of the sound over it; a click chooses the phrase there."""

from __future__ import annotations

from textual import events
from textual.geometry import Size
from textual.message import Message
from textual.strip import Strip

from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.strip import Inked
from earloop.screen.signs import Signs
from earloop.screen.whole.course import BESIDES, GUTTER, Course, course_of, draw_course
from earloop.session.session import Session

FEW_ROWS, MANY_ROWS = 4, 10


class CourseView(Inked):
    """Draws the session's line anew for each width, and when another phrase is chosen."""

    class PhraseClicked(Message):
        """A phrase of the course was clicked (0-based)."""

        def __init__(self, phrase: int) -> None:
            super().__init__()
            self.phrase = phrase

    def __init__(self, session: Session, signs: Signs, chosen: int) -> None:
        super().__init__()
        self.session, self.signs, self.chosen = session, signs, chosen
        self.sounding: int | None = None
        self._course: Course | None = None
        self._canvas = Canvas(0, 0)
        self._drawn_for = Size()

    def on_resize(self) -> None:
        self._fit()

    def _fit(self) -> None:
        if self.size != self._drawn_for:
            self.draw()

    def choose(self, phrase: int) -> None:
        self.chosen = phrase
        self.draw()

    def draw(self) -> None:
        """Everything anew, from the session as it is."""
        width = self.size.width - GUTTER
        if width <= 0:
            return
        session, self._drawn_for = self.session, self.size
        if self._course is None or self._course.width != width or self._course.reading is not session.reading:
            self._course = course_of(session.reading, width)
        rows = self.size.height - BESIDES
        decided = session.desk.decided.tones
        self._canvas = draw_course(self._course, self.signs, rows, decided, session.span, self.chosen)
        self.refresh()

    def place(self, tone: int | None) -> None:
        """The sound is at this tone; nowhere, where there is none."""
        if tone != self.sounding:
            self.sounding = tone
            self.refresh()

    def render_line(self, y: int) -> Strip:
        self._fit()
        if y >= len(self._canvas) or self._course is None:
            return self.blank()
        styles, signs = self._laid_over(self._course) if y == 0 else ({}, {})
        return self.strip_of(self._canvas.runs(y, styles, signs))

    def _laid_over(self, course: Course) -> tuple[dict[int, str], dict[int, str]]:
        """The chosen phrase's place and the sound's, over the ruler."""
        signs = {GUTTER + k: self.signs.cursor for k in course.columns_of(self.chosen)}
        styles = dict.fromkeys(signs, "strong")
        if self.sounding is not None:
            at = GUTTER + course.column(self.sounding)
            signs[at], styles[at] = self.signs.playing, "playing"
        return styles, signs

    def on_click(self, event: events.Click) -> None:
        if self._course is not None and event.x >= GUTTER:
            self.post_message(self.PhraseClicked(self._course.phrase_at(event.x - GUTTER)))
