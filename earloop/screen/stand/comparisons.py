"""Comparing from the stand: which other reading, and then the comparing screen over it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from earloop.reading import Decisions, Reading, read
from earloop.screen.background import begun, in_background
from earloop.screen.comparing.both_drawn import Both
from earloop.screen.comparing.comparing_screen import ComparingScreen, both_of
from earloop.screen.held_picture import hold_picture
from earloop.screen.panels.chooser import Chooser
from earloop.screen.panels.panel import Choice
from earloop.screen.stand.correcting import Correcting
from earloop.session.comparing import Comparing
from earloop.session.session import Session

if TYPE_CHECKING:
    from earloop.scores.other_readings import OtherReading

MOST_PACKAGES = 20
AT_FIRST = "as it was when this session began"


@dataclass(frozen=True, slots=True)
class Choosable:
    """A reading that can stand beside one's own: `find` gives it, in a thread; None where a file is to be chosen."""

    find: Callable[[], OtherReading] | None


@dataclass(frozen=True, slots=True)
class Sitting:
    """Two readings compared, what is to be said of the other one, and the picture of both."""

    comparing: Comparing
    note: str
    both: Both


class Comparisons(Correcting):
    """The board with other readings of its score."""

    def action_compare(self) -> None:
        if self.session is not None:
            self.run_worker(self._offer_readings(""), group="compare", exclusive=True)

    async def _offer_readings(self, problem: str) -> None:
        options = await in_background(self._readings)
        session, likeliest = self.session, options[0][1].find
        assert session is not None
        assert likeliest is not None
        ahead: list[tuple[Reading, Awaitable[Sitting]]] = []

        def take(chosen: Choosable | None) -> None:
            if chosen is None:
                return
            if chosen.find is None:
                self._choose_reading()
            else:
                known = [found for mine, found in ahead if mine is session.reading and chosen.find is likeliest]
                self._set_out(known[0] if known else self._sitting(session, chosen.find))

        panel = Choice("Compare your reading with which other?", options, problem=problem)
        self.app.push_screen(panel, take)
        # Once the panel is drawn, the likeliest is compared while one chooses.
        panel.call_after_refresh(lambda: ahead.append((session.reading, self._sitting(session, likeliest))))

    def _readings(self) -> list[tuple[str, Choosable]]:
        """What can be compared: the proposal, the session's beginning, kept files, packages, what was received, any."""
        from earloop.scores.kept_places import readings_near
        from earloop.scores.other_readings import PROPOSAL, OtherReading, other_reading
        from earloop.scores.received import received_about

        assert self.session is not None
        line, at_first = self.session.line, self.session.desk.at_first
        options = [("what earloop proposes", Choosable(lambda: PROPOSAL))]
        changed = "" if at_first != self.session.desk.decided else " (nothing has changed since)"
        options.append((f"{AT_FIRST}{changed}", Choosable(lambda: OtherReading("the beginning", at_first))))
        kept = self.opened.kept if self.opened else None
        near = readings_near(kept.score) if kept is not None else []
        for path in (path for path in near if kept is None or path != kept.path):
            options.append((f"kept: {path.name}", Choosable(partial(other_reading, path, line))))
        for path in self._packages():
            options.append((f"package: {path.name}", Choosable(partial(other_reading, path, line))))
        for path in received_about(kept.score) if kept is not None else []:
            options.append((f"received: {path.parent.name}", Choosable(partial(other_reading, path, line))))
        options.append(("another file: kept decisions, another edition", Choosable(None)))
        return options

    def _packages(self) -> list[Path]:
        """The packages in the score's folder; one that is on the stand itself is its sender's reading."""
        from earloop.scores.package import is_package

        folder = self.opened.path.parent if self.opened else Path.cwd()
        try:
            found = (path for path in folder.iterdir() if is_package(path) and not path.name.startswith("."))
            return sorted(found)[:MOST_PACKAGES]
        except OSError:
            return []

    def _choose_reading(self) -> None:
        session = self.session
        assert session is not None
        line, here = session.line, self.opened.path.parent if self.opened else Path.cwd()

        def take(path: Path | None) -> None:
            if path is not None:
                from earloop.scores.other_readings import other_reading

                self._set_out(self._sitting(session, partial(other_reading, path, line)))

        self.app.push_screen(Chooser(here, None, "", title="Which reading?", kept_too=True), take)

    def _sitting(self, session: Session, find: Callable[[], OtherReading]) -> Awaitable[Sitting]:
        """Compare, from now on, in a thread."""
        signs, seen = self.signs, self._scene

        def work() -> Sitting:
            comparing, note = _compared(session, find())
            return Sitting(comparing, note, both_of(comparing, signs, seen))

        return begun(work)

    def _set_out(self, found: Awaitable[Sitting]) -> None:
        self.run_worker(self._compare(found, hold_picture(self.app)), group="compare", exclusive=True)

    async def _compare(self, found: Awaitable[Sitting], let_go: Callable[[], None]) -> None:
        """Nothing is drawn before `let_go` is called: the stand would be seen for a moment only."""
        from earloop.scores.errors import ScoreError

        session = self.session
        assert session is not None
        try:
            sitting = await found
        except ScoreError as error:
            let_go()
            await self._offer_readings(error.sentence)
            return
        if session is not self.session:
            return let_go()
        comparing = sitting.comparing
        if self.opened is not None and self.opened.kept is not None:
            comparing.put_by = self.opened.kept.put_by
        self.app.push_screen(ComparingScreen(comparing, self.signs, sitting.note, sitting.both), self._come_back)
        let_go()

    def _come_back(self, tone: int | None) -> None:
        if tone is not None:
            self.action_session("point_at", tone)
        self.said = ""
        self.show()


def _reading(proposal: Reading, decided: Decisions) -> Reading:
    """The proposal is read already."""
    return read(proposal.line, decided) if decided else proposal


def _compared(session: Session, other: OtherReading) -> tuple[Comparing, str]:
    """The sitting, and what is to be said of the other reading."""
    reading = _reading(session.desk.proposal, other.decided)
    return Comparing(session, other.name, other.decided, reading), other.note
