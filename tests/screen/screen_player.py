"""A player for the screen's tests: it remembers what was asked of it, and its place is set by hand."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Literal

from earloop.performing import Performance, Strand
from earloop.sounding.outputs import OutputChoice


@dataclass(frozen=True)
class Place:
    playing: bool = False
    tempo: float = 1.0
    at: float = 0.0
    pass_number: int = 0
    ended: int = 0
    position: float = 0.0
    source: int | None = None
    output: str = "silent, for a test"
    notice: str = ""
    heard: int = 0
    notes: tuple[tuple[float, int, int], ...] = ()
    next_asked: int = 0
    tempo: float = 1.0


@dataclass
class FakePlayer:
    """`asked` is every command with its values, in order."""

    place: Place = field(default_factory=Place)
    asked: list[tuple[Any, ...]] = field(default_factory=list)
    performance: Performance | None = None
    closed: bool = False

    def load(self, performance: Performance, when: Literal["seam", "now"] = "seam", keep_position: bool = True) -> None:
        self.performance = performance
        self.asked.append(("load", when))

    def play(self) -> None:
        self.place = replace(self.place, playing=True, pass_number=1)
        self.asked.append(("play",))

    def stop(self) -> None:
        self.place = replace(self.place, playing=False)
        self.asked.append(("stop",))

    def seek(self, quarters: float) -> None:
        self.place = replace(self.place, position=quarters)
        self.asked.append(("seek", quarters))

    def tempo(self, factor: float) -> None:
        self.asked.append(("tempo", factor))

    def level(self, level: float) -> None:
        self.asked.append(("level", level))

    def mute(self, strand: Strand, on: bool) -> None:
        self.asked.append(("mute", strand, on))

    def alone(self, strand: Strand | None) -> None:
        self.asked.append(("alone", strand))

    def loops(self, passes: int | None) -> None:
        self.asked.append(("loops", passes))

    def output(self, choice: OutputChoice) -> None:
        self.asked.append(("output", choice.kind))

    def tuning(self, a4: float = 440.0, just_on: int | None = None) -> None:
        self.asked.append(("tuning", a4, just_on))

    def transpose(self, semitones: int) -> None:
        self.asked.append(("transpose", semitones))

    def ramp(self, goal: float, step_per_pass: float) -> None:
        self.asked.append(("ramp", goal, step_per_pass))

    def snapshot(self) -> Place:
        return self.place

    def plays(self) -> bool:
        return self.place.playing

    def close(self) -> None:
        self.closed = True

    def play_on_a_keyboard(self, key: int) -> None:
        """A tone is played on the MIDI keyboard that is listened to."""
        notes = (*self.place.notes, (0.0, key, 80), (0.1, key, 0))
        self.place = replace(self.place, heard=self.place.heard + 1, notes=notes)

    def run_out(self) -> None:
        """What sounded has ended."""
        self.place = replace(self.place, playing=False, position=0.0)

    def at(self, position: float) -> None:
        """Sound is at this place of the pass."""
        self.place = replace(self.place, position=position)
