"""Decisions that lost their tone: each told in words, put at the cursor's tone or let go."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import OptionList, Static

from earloop.reading.decisions import Unplaced
from earloop.reading.unplaced import second_tone, told_unplaced
from earloop.screen.panels.panel import Panel
from earloop.screen.signs import Signs
from earloop.session.session import Session


class Placing(Panel[None]):
    """Lies low, so that the picture with the cursor stays in sight. `decide` does an act and has it heard."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "tone before", show=False),
        Binding("right", "step(1)", "next tone", show=False),
        Binding("backspace,delete", "let_go", "let it go", show=False),
        Binding("z,ctrl+z", "undo", "take back", show=False),
        Binding("X", "dismiss(None)", "back", show=False),
    ]

    def __init__(self, session: Session, signs: Signs, decide: Callable[[Callable[[], object]], None]) -> None:
        self.keys_line = signs.words(
            "{left} {right} cursor  enter put it there  backspace let it go  z take back  q back"
        )
        super().__init__("Decisions whose tone is not in this edition")
        self.session, self.signs, self.decide = session, signs, decide
        self._told_of: Unplaced | None = None

    def body(self) -> Iterable[Widget]:
        yield OptionList(markup=False)
        yield Static(id="placing-where", markup=False)

    def on_mount(self) -> None:
        self.query_one(OptionList).focus()
        self._list()

    @property
    def items(self) -> tuple[Unplaced, ...]:
        return self.session.desk.decided.unplaced

    def _list(self, at: int = 0, said: str = "") -> None:
        listed = self.query_one(OptionList)
        listed.clear_options()
        listed.add_options([self._capital(told_unplaced(item)) for item in self.items])
        if self.items:
            listed.highlighted = min(at, len(self.items) - 1)
        self._say(said)

    def _say(self, said: str = "") -> None:
        self._told_of = self._chosen()
        self.query_one("#placing-where", Static).update(said or self._where())

    def _where(self) -> str:
        """What Enter would do."""
        at, chosen = self.session.cursor, self._chosen()
        if chosen is None:
            return "Every decision has its place. z takes the last act back, q leaves."
        words = f"the cursor is on {self._tone(at)}"
        second = second_tone(chosen, at, len(self.session.line), self.session.marks)
        if chosen.second is not None and second is not None:
            words += f"; its second tone would be {self._tone(second)}"
        return self._capital(words) + "."

    def _tone(self, index: int) -> str:
        tone = self.session.line[index]
        bar = f", bar {tone.measure}" if tone.measure else ""
        return f"tone {index + 1} ({tone.pitch.name}{bar})"

    def _capital(self, sentence: str) -> str:
        return self.signs.sentence(sentence[:1].upper() + sentence[1:])

    def _chosen(self) -> Unplaced | None:
        at = self.query_one(OptionList).highlighted
        return self.items[at] if at is not None and at < len(self.items) else None

    def on_option_list_option_highlighted(self) -> None:
        """A list made anew tells of its first choice too; what was said about the act stays then."""
        if self._chosen() is not self._told_of:
            self._say()

    def on_option_list_option_selected(self) -> None:
        chosen, at = self._chosen(), self.session.cursor
        if chosen is None:
            return
        try:
            self._act(lambda: self.session.desk.place(chosen, at, self.session.marks), f"Placed at {self._tone(at)}.")
        except ValueError as problem:
            self._say(self._capital(f"{problem}."))

    def action_let_go(self) -> None:
        chosen = self._chosen()
        if chosen is not None:
            self._act(lambda: self.session.desk.let_go(chosen), "Let go. z takes it back.")

    def action_undo(self) -> None:
        self._act(self.session.desk.undo, "Taken back.")

    def _act(self, act: Callable[[], object], said: str) -> None:
        at = self.query_one(OptionList).highlighted or 0
        self.decide(act)
        self._list(at, self.signs.sentence(said))

    def action_step(self, by: int) -> None:
        self.session.step(by)
        self._say()
