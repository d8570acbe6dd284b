"""Practice as the stand sees it: what is played is noted, a plan goes on by itself, a rest is proposed."""

from __future__ import annotations

from pathlib import Path

from textual.screen import ModalScreen

from earloop.coaching.due import Due
from earloop.coaching.plan import Plan
from earloop.journal.place import LIBRARY
from earloop.layers import NAMES
from earloop.screen.held_picture import hold_picture
from earloop.screen.journal.journal_screen import JournalScreen
from earloop.screen.library import phrases_folder
from earloop.screen.opening import Opened
from earloop.screen.planning.plan_panel import PlanPanel
from earloop.screen.stand.correcting import Correcting
from earloop.session.lesson import Lesson
from earloop.session.rest import RestWatch
from earloop.session.session import Session

LOOKS_A_SECOND = 4
"""How often the session is told to see how far the player is."""


class Coaching(Correcting):
    """The board with the journal and the plan."""

    lesson: Lesson | None = None
    _told = ""
    _said_by_lesson = ""
    _rest_told = False
    _due_there: Due | None = None

    def on_mount(self) -> None:
        self.rest = RestWatch()
        self.set_interval(1 / LOOKS_A_SECOND, self._mind_practice)

    def put(self, opened: Opened) -> None:
        """Another score: its plan is another one too."""
        self.lesson = None
        super().put(opened)
        due, self._due_there = self._due_there, None
        if due is not None and due.item.score == opened.session.practising.score:
            self._point_at_due(opened.session, due)

    def open_in_time(self, path: Path, part: int | str | None = None) -> None:
        """The stand opens scores; here only what is due asks for it."""
        raise NotImplementedError

    def plan_to_give(self) -> Plan | None:
        here = self.session.phrase if self.session is not None else None
        held = self.lesson
        return held.plan if held is not None and held.plan.steps and held.plan.phrase == here else None

    def plan_line(self) -> str:
        return self.lesson.line if self.lesson is not None else ""

    def action_plan(self) -> None:
        if self.session is None:
            return
        lesson = self._lesson(self.session)
        panel = PlanPanel(self.session, lesson, self.signs, hold_picture(self.app))
        self.app.push_screen(panel, self._take_from_plan)

    def action_journal(self) -> None:
        if self.session is not None and self.opened is not None:
            title = self.opened.card.title or self.session.practising.title
            plain = self.app.has_class("plain")
            self.app.push_screen(JournalScreen(self.session, title, self.signs, plain, hold_picture(self.app)))

    def _lesson(self, session: Session) -> Lesson:
        """The plan under way; another one where none is, or the player has gone on to another phrase."""
        held = self.lesson
        if held is None or held.plan.phrase != session.phrase:
            if held is not None:
                held.hold()
            held = self.lesson = Lesson(session, Plan(session.phrase, 1, ()), self.rest)
        return held

    def _take_from_plan(self, chosen: int | Due | None) -> None:
        if isinstance(chosen, Due):
            self._go_to_due(chosen)
        elif chosen is not None and self.lesson is not None:
            self.lesson.start(chosen)
            self._say_for_lesson()
            self.show()

    def _go_to_due(self, due: Due) -> None:
        """To the phrase and layer that are due; the score they belong to is opened first where it is another one."""
        session = self.session
        if session is not None and session.practising.score == due.item.score:
            self._point_at_due(session, due)
            return
        path = path_of(due.item.score)
        if path is None or not path.is_file():
            self.say("That score is not where it was: open it with F, and what is due on it is found again.")
            return
        self._due_there = due
        self.open_in_time(path)

    def _point_at_due(self, session: Session, due: Due) -> None:
        kind, _, name = due.item.name.partition(":")
        if due.item.phrase >= 0:
            session.go_to_phrase(due.item.phrase)
        if kind == "layer" and name in NAMES:
            session.choose_layer(name)
            self.say(f"Due: {name}. V listens while you sing it back; space plays it.")
        elif kind == "link" and all(part.isdigit() for part in name.split("-")) and name.count("-") == 1:
            first, second = (int(part) for part in name.split("-"))
            session.point_at(first)
            self.say(f"Due: the link from tone {first + 1} to {second + 1}. Sing the one, and hear the other come.")
        else:
            self.say("Due: a question for the ear. A asks it.")
        self.show()

    def _mind_practice(self) -> None:
        session, at = self.session, self.player.snapshot() if self.player is not None else None
        elsewhere = self.app.screen is not self and not isinstance(self.app.screen, ModalScreen)
        self.rest.look(elsewhere or (at is not None and at.playing))
        if session is not None:
            session.practising.look()
        if self.lesson is not None and not elsewhere:
            self.lesson.look()
            self._say_for_lesson()
        if self.diary is not None and self.diary.notice != self._told:
            self._told = self.diary.notice
            if self._told:
                self.say(self._told)
        if self.rest.due != self._rest_told:
            self._rest_told = self.rest.due
            if self._rest_told:
                self.say(self.rest.told)

    def _say_for_lesson(self) -> None:
        lesson = self.lesson
        if lesson is not None and lesson.said != self._said_by_lesson:
            self._said_by_lesson = lesson.said
            self.say(lesson.said)
            self.show()


def path_of(score: str) -> Path | None:
    """Where a score of the journal lies; None where only a part of a file is meant, or our library is not there."""
    if "#" in score:
        return None
    if not score.startswith(LIBRARY):
        return Path(score)
    folder = phrases_folder()
    return folder / score.removeprefix(LIBRARY) if folder is not None else None
