"""What all panels share: a title, a body, a line of keys, and ways out that don't need Escape."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Generic, TypeVar

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import OptionList, Static

Value = TypeVar("Value")


class Panel(ModalScreen[Value | None], Generic[Value]):
    """`body` gives its widgets. Leaving it with q or Escape changes nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,escape,ctrl+c", "dismiss(None)", "back", show=False)]
    keys_line = "q back"

    def __init__(self, title: str) -> None:
        super().__init__()
        self.heading = title

    def compose(self) -> ComposeResult:
        with Vertical(classes="panel"):
            yield Static(self.heading, classes="panel-title", markup=False)
            yield from self.body()
            yield Static(self._keys(), classes="panel-keys", markup=False)

    def _keys(self) -> Text:
        """The line of keys; those that are the panel's own can be clicked."""
        text = Text()
        for part in self.keys_line.split("  "):
            bound = self._bindings.key_to_bindings.get(part.partition(" ")[0], [])
            style = Style(meta={"@click": f"screen.{bound[0].action}"}) if bound else Style()
            text.append("  " if text else "")
            text.append(part, style=style)
        return text

    def body(self) -> Iterable[Widget]:
        """The widgets between title and keys."""
        return ()


class Choice(Panel[Value]):
    """One of several values, by arrow keys and Enter or by the mouse; `problem` is a sentence above them."""

    keys_line = "up down move  enter take it  q back"

    def __init__(
        self, title: str, options: Sequence[tuple[str, Value]], *, current: int = 0, problem: str = ""
    ) -> None:
        super().__init__(title)
        self.options, self.current, self.problem = list(options), current, problem

    def body(self) -> Iterable[Widget]:
        if self.problem:
            yield Static(self.problem, classes="panel-problem", markup=False)
        yield OptionList(*(label for label, _ in self.options), markup=False)

    def on_mount(self) -> None:
        listed = self.query_one(OptionList)
        if self.options:
            listed.highlighted = min(self.current, len(self.options) - 1)
        listed.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self.options[event.option_index][1])
