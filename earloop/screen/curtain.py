"""What is there at once, while the stand's libraries are still being read from disk: a name, and a way out."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Static


class Curtain(Screen[None]):
    """The first frame. Nothing here may import a score, a line or a sound."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,ctrl+q,ctrl+c", "app.exit", "quit", show=False)]

    def compose(self) -> ComposeResult:
        yield Static("earloop", classes="panel-title", markup=False)
        yield Static("one moment", markup=False)
        yield Static("q quit", classes="panel-keys", markup=False)
