"""The strands of the sound: each can be muted or heard alone."""

from __future__ import annotations

from collections.abc import Iterable
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widget import Widget

from earloop.performing import STRANDS
from earloop.screen.long_list import LongList
from earloop.screen.panels.panel import Panel
from earloop.session.session import Session


class Strands(Panel[None]):
    """Changes are heard at once; the panel stays until it is left."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "mute", "mute", show=False),
        Binding("a", "alone", "alone", show=False),
        Binding("space", "play", "play", show=False),
        Binding("s", "dismiss(None)", "back", show=False),
    ]
    keys_line = "{up} {down} move  m mute, or sound again  a hear alone, or all  space play  q back"

    def __init__(self, session: Session) -> None:
        super().__init__("Strands")
        self.session = session

    def body(self) -> Iterable[Widget]:
        self._lines = self._said()
        yield LongList(lambda place: self._lines[place], len(self._lines))

    def on_mount(self) -> None:
        self.query_one(LongList).focus()

    def _said(self) -> list[str]:
        sounding = {event.strand for event in self.session.performance.events}
        return [self._line(strand, strand in sounding) for strand in STRANDS]

    def _line(self, strand: str, sounding: bool) -> str:
        if self.session.only:
            state = "alone" if strand == self.session.only else "silent while another is alone"
        else:
            state = "muted" if strand in self.session.muted else "sounds"
        return f"{strand:<10} {state if sounding or state != 'sounds' else 'nothing to sound in this layer'}"

    def _again(self) -> None:
        self._lines = self._said()
        self.query_one(LongList).refresh()

    def _chosen(self) -> int:
        return self.query_one(LongList).chosen or 0

    def action_mute(self) -> None:
        self.session.turn_muted(STRANDS[self._chosen()])
        self._again()

    def action_alone(self) -> None:
        self.session.turn_alone(STRANDS[self._chosen()])
        self._again()

    def action_play(self) -> None:
        self.session.play_or_stop()

    def on_long_list_taken(self) -> None:
        self.action_mute()
