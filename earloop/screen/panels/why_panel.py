"""Why the reading says what it says of one tone: every reason of the readers, in full."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from earloop.screen.panels.panel import Panel


class WhyPanel(Panel[None]):
    """A sentence a line."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("h", "dismiss(None)", "back", show=False)]
    keys_line = "{up} {down} scroll  q back"

    def __init__(self, title: str, sentences: Iterable[str]) -> None:
        super().__init__(title)
        self.sentences = list(sentences)

    def body(self) -> Iterable[Widget]:
        yield VerticalScroll(Static("\n".join(self.sentences), markup=False))

    def on_mount(self) -> None:
        self.query_one(VerticalScroll).focus()
