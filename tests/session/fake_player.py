"""A player that only remembers what it was asked."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from earloop.performing import Performance


@dataclass
class FakePlayer:
    asked: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)
    performance: Performance | None = None
    playing: bool = False
    pass_number: int = 0
    ended: int = 0
    position: float = 0.0
    at: float = 0.0
    source: int | None = None
    output: str = "silent"
    notice: str = ""

    def load(self, performance: Performance, when: str = "seam", keep_position: bool = True) -> None:
        self.performance = performance
        self.asked.append(("load", (when, keep_position)))

    def play(self) -> None:
        self.playing = True

    def stop(self) -> None:
        self.playing = False

    def seek(self, quarters: float) -> None:
        self.position = quarters

    def snapshot(self) -> FakePlayer:
        return self

    def plays(self) -> bool:
        return self.playing

    def __getattr__(self, name: str) -> Any:
        if name.startswith("_"):
            raise AttributeError(name)
        return lambda *values: self.asked.append((name, values))
