"""What all panels share: a title, a body, a line of keys, and ways out that don't need Escape."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Generic, TypeVar

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.geometry import Size
from textual.screen import ModalScreen
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from earloop.screen.drawn_once import DrawnOnce
from earloop.screen.ground import Ground
from earloop.screen.long_list import LongList
from earloop.screen.picture.strip import Inked
from earloop.screen.signs import signs

Value = TypeVar("Value")


Told = tuple[str, str]
"""A key with what it does, and the action a click on it does; the empty one is none."""


class KeysLine(Inked):
    """Keys and what they do, in as many lines as the width asks for; a line ends only between two of them."""

    def __init__(self, parts: Sequence[Told]) -> None:
        super().__init__(classes="panel-keys")
        self.parts = parts

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return len(self._laid_out(width))

    def render_line(self, y: int) -> Strip:
        rows = self._laid_out(self.size.width)
        return self._strip(rows[y]) if y < len(rows) else self.blank()

    def _laid_out(self, width: int) -> list[list[Told]]:
        rows: list[list[Told]] = [[]]
        used = 0
        for part in self.parts:
            if used and used + 2 + cell_len(part[0]) > width:
                rows.append([])
                used = 0
            used += cell_len(part[0]) + (2 if used else 0)
            rows[-1].append(part)
        return rows

    def _strip(self, row: Sequence[Told]) -> Strip:
        plain, link = self.rich_style, self.link_style
        said: list[Segment] = []
        for words, action in row:
            if said:
                said.append(Segment("  ", plain))
            said.append(Segment(words, link + Style(meta={"@click": action}) if action else plain))
        return Strip(said).adjust_cell_length(self.size.width, plain)


class Panel(DrawnOnce[Value | None], ModalScreen[Value | None], Generic[Value]):
    """`body` gives its widgets. Leaving it with q or Escape changes nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,escape,ctrl+c", "dismiss(None)", "back", show=False)]
    keys_line = "q back"

    def __init__(self, title: str) -> None:
        super().__init__()
        self.heading = title

    def compose(self) -> ComposeResult:
        with Ground(classes="panel"):
            yield Static(self.heading, classes="panel-title", markup=False)
            yield from self.body()
            yield KeysLine(self._keys())

    def _keys(self) -> list[Told]:
        """The keys, each with what it does; those that are the panel's own can be clicked."""
        parts = []
        for part in signs(self.app.has_class("plain")).words(self.keys_line).split("  "):
            bound = self._bindings.key_to_bindings.get(part.partition(" ")[0], [])
            parts.append((part, f"screen.{bound[0].action}" if bound else ""))
        return parts

    def body(self) -> Iterable[Widget]:
        """The widgets between title and keys. One of the class `panel-problem` is where `say` puts its sentence."""
        return ()

    def say(self, sentence: str) -> None:
        """A sentence on what is wrong or to be known; empty: no room is kept for it."""
        said = self.query_one(".panel-problem", Static)
        said.update(sentence)
        said.display = bool(sentence)


class Choice(Panel[Value]):
    """One of several values, by arrow keys and Enter or by the mouse; `problem` is a sentence above them."""

    keys_line = "{up} {down} move  enter take it  q back"

    def __init__(
        self, title: str, options: Sequence[tuple[str, Value]], *, current: int = 0, problem: str = ""
    ) -> None:
        super().__init__(title)
        self.options, self.current, self.problem = list(options), current, problem

    def body(self) -> Iterable[Widget]:
        if self.problem:
            yield Static(self.problem, classes="panel-problem", markup=False)
        yield LongList(lambda place: self.options[place][0], len(self.options), self.current)

    def on_mount(self) -> None:
        self.query_one(LongList).focus()

    def on_long_list_taken(self, event: LongList.Taken) -> None:
        self.dismiss(self.options[event.place][1])
