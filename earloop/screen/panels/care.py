"""The cautions, shown once before the first start."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static

from earloop.screen.cautions import CAUTIONS
from earloop.screen.panels.panel import Panel


class Care(Panel[None]):
    """Any of the usual keys leads on."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,space", "dismiss(None)", "go on", show=False)]
    keys_line = "enter go on"

    def __init__(self) -> None:
        super().__init__("Before you start")

    def body(self) -> Iterable[Widget]:
        for caution in CAUTIONS:
            yield Static(caution + "\n", markup=False)


def first_start() -> bool:
    """Whether the cautions were never shown to this user; from now on they were. True where that can't be kept."""
    from platformdirs import user_state_path

    seen: Path = user_state_path("earloop") / "cautions-shown"
    try:
        if seen.exists():
            return False
        seen.parent.mkdir(parents=True, exist_ok=True)
        seen.touch()
    except OSError:
        return True
    return True
