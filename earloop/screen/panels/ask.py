"""One line of text from the performer: a word over a tone, or a folder."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Input

from earloop.screen.panels.panel import Panel


class Ask(Panel[str]):
    """Enter takes the line as it stands, so Enter at once changes nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        # Before the line itself takes the key: at first all of it is chosen, and it would copy that.
        Binding("escape,ctrl+c", "dismiss(None)", "back", show=False, priority=True)
    ]
    keys_line = "enter take it  ctrl+c back"

    def __init__(self, title: str, text: str = "", most: int = 0) -> None:
        super().__init__(title)
        self.text, self.most = text, most

    def body(self) -> Iterable[Widget]:
        yield Input(self.text, max_length=self.most)

    def on_mount(self) -> None:
        self.query_one(Input).focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        self.dismiss(event.value)
