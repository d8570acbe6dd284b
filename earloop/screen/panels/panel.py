"""What all panels share: a title, a body, a line of keys, and ways out that don't need Escape."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import ClassVar, Generic, TypeVar

from rich.style import Style
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.geometry import Size
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import OptionList, Static

from earloop.screen.drawn_once import DrawnOnce
from earloop.screen.signs import signs

Value = TypeVar("Value")


class KeysLine(Widget):
    """Keys and what they do, in as many lines as the width asks for; a line ends only between two of them."""

    def __init__(self, parts: Sequence[Text]) -> None:
        super().__init__(classes="panel-keys")
        self.parts = parts

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        return self._laid_out(width).plain.count("\n") + 1

    def render(self) -> Text:
        return self._laid_out(self.size.width)

    def _laid_out(self, width: int) -> Text:
        text, used = Text(no_wrap=True), 0
        for part in self.parts:
            if used:
                apart = "  " if used + 2 + part.cell_len <= width else "\n"
                text.append(apart)
                used = used + 2 if apart == "  " else 0
            text.append_text(part)
            used += part.cell_len
        return text


class Panel(DrawnOnce[Value | None], ModalScreen[Value | None], Generic[Value]):
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
            yield KeysLine(self._keys())

    def _keys(self) -> list[Text]:
        """The keys, each with what it does; those that are the panel's own can be clicked."""
        parts = []
        for part in signs(self.app.has_class("plain")).words(self.keys_line).split("  "):
            bound = self._bindings.key_to_bindings.get(part.partition(" ")[0], [])
            parts.append(Text(part, Style(meta={"@click": f"screen.{bound[0].action}"}) if bound else Style()))
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
        yield OptionList(*(label for label, _ in self.options), markup=False)

    def on_mount(self) -> None:
        listed = self.query_one(OptionList)
        if self.options:
            listed.highlighted = min(self.current, len(self.options) - 1)
        listed.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self.options[event.option_index][1])
