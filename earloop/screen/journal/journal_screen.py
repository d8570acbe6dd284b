"""The journal's screen: four views, by number or arrow key; the journal is read when it opens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import ModuleType
from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from earloop.journal import Happening, Journal, JournalError
from earloop.journal.moment import today
from earloop.journal.place import journal_path
from earloop.screen.background import in_background
from earloop.screen.drawn_once import DrawnOnce
from earloop.screen.journal.views import VIEWS, Noted
from earloop.screen.signs import Signs
from earloop.session.session import Session


class JournalScreen(DrawnOnce[None]):
    """`plain` leaves the plots out: the tables then carry bars of their own.

    `there` is called when all has been found.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(str(number), f"view({number - 1})", view.title, show=False) for number, view in enumerate(VIEWS, 1)),
        Binding("right,tab", "turn(1)", "next view", show=False),
        Binding("left,shift+tab", "turn(-1)", "view before", show=False),
        Binding("n,pagedown", "phrase(1)", "next phrase", show=False),
        Binding("p,pageup", "phrase(-1)", "phrase before", show=False),
        Binding("a", "all", "one phrase or all", show=False),
        Binding("q,J,escape,ctrl+c", "dismiss(None)", "back", show=False),
    ]

    def __init__(
        self, session: Session, title: str, signs: Signs, plain: bool, there: Callable[[], object] = lambda: None
    ) -> None:
        super().__init__()
        self.there = there
        self.session, self.heading, self.signs, self.plain = session, title, signs, plain
        self.phrase = session.phrase
        self.place = 0
        self.one_phrase = False
        self.happenings: Sequence[Happening] | None = None
        self.plot: Widget | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="journal-title", markup=False)
        yield Static(id="journal-views", markup=False)
        with VerticalScroll(id="journal-table"):
            yield Static("one moment: looking into the journal", id="journal-rows", markup=False)
        yield Static(self._keys(), id="journal-keys", markup=False)

    def on_mount(self) -> None:
        self.query_one("#journal-title", Static).update(f"Journal {self.signs.dot} {self.heading}")
        self.query_one(VerticalScroll).focus()
        self.run_worker(self._come_up(), group="journal", exclusive=True)

    def _keys(self) -> str:
        return self.signs.words("1-4 {left} {right} view  n p phrase  a one phrase or all  {up} {down} scroll  q back")

    async def _come_up(self) -> None:
        try:
            await self._load()
        finally:
            self.there()

    async def _load(self) -> None:
        diary = self.session.practising.diary

        def work() -> Sequence[Happening]:
            if diary is not None:
                diary.flush()
            if not journal_path().exists():
                return []
            with Journal.open() as journal:
                return journal.happenings()

        try:
            happenings = await in_background(work)
        except JournalError as error:
            self.query_one("#journal-rows", Static).update(f"The journal can't be read: {error}.")
            return
        if not self.plain:
            plots = await in_background(_plots)
            self.plot = plots.new_plot()
            await self.mount(self.plot, before="#journal-table")
        self.happenings = happenings
        self.show()

    def noted(self) -> Noted:
        """What the views look at now."""
        assert self.happenings is not None
        score = self.session.practising.score
        return Noted(self.happenings, score, self.session.reading, self.phrase, today(), self.signs, self.one_phrase)

    def show(self) -> None:
        """The chosen view."""
        if self.happenings is None:
            return
        view, noted = VIEWS[self.place], self.noted()
        names = Text(no_wrap=True, overflow="crop")
        for number, one in enumerate(VIEWS):
            chosen = number == self.place
            style = Style(bold=chosen, reverse=chosen, meta={"@click": f"screen.view({number})"})
            names.append(f" {number + 1} {one.title} ", style=style)
            names.append(" ")
        names.append(f" {view.of(noted)}")
        self.query_one("#journal-views", Static).update(names)
        drawn = False
        if self.plot is not None:
            drawn = _plots().draw(self.plot, view.name, noted)
            self.plot.display = drawn
        self.set_class(drawn, "drawn")
        self.query_one("#journal-rows", Static).update("\n".join(view.rows(noted, not drawn)))
        self.query_one(VerticalScroll).scroll_home(animate=False)

    def action_view(self, place: int) -> None:
        self.place = place
        self.show()

    def action_turn(self, by: int) -> None:
        self.action_view((self.place + by) % len(VIEWS))

    def action_phrase(self, by: int) -> None:
        """Another phrase of the score; where the view is not of one phrase, the view of the phrase comes."""
        self.phrase = max(0, min(len(self.session.reading.phrases) - 1, self.phrase + by))
        if VIEWS[self.place].name == "days" or not self.one_phrase:
            self.place = next(place for place, view in enumerate(VIEWS) if view.name == "phrase")
        self.show()

    def action_all(self) -> None:
        """Degrees and links of one phrase, or of all."""
        self.one_phrase = not self.one_phrase
        self.show()


def _plots() -> ModuleType:
    """The drawing library is slow to come, so it comes in a thread, when it is needed."""
    from earloop.screen.journal import plots

    return plots
