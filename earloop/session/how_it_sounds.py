"""How the loop sounds, whatever is looped: tempo, level, strands, drone, gaps."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from earloop.line import Line
from earloop.performing import Strand
from earloop.session.choices import DRONES, FASTEST, SLOWEST, Choices
from earloop.session.player_port import PlayerPort


class HowItSounds:
    """The choices and the player they are handed to. What is looped is the session's own matter (`_load`)."""

    def __init__(self, player: PlayerPort, choices: Choices) -> None:
        self.player = player
        self.choices = choices
        self.muted: frozenset[Strand] = frozenset()
        self.only: Strand | None = None
        player.tempo(choices.tempo / 100)
        player.level(choices.level)

    @property
    def line(self) -> Line:
        """The line that sounds."""
        raise NotImplementedError

    def _load(self, when: Literal["seam", "now"], keep_position: bool = True) -> None:
        """Hand the player what the choices ask for."""
        raise NotImplementedError

    def set_tempo(self, percent: int) -> None:
        percent = max(SLOWEST, min(FASTEST, percent))
        self.choices = replace(self.choices, tempo=percent)
        self.player.tempo(percent / 100)

    def faster(self, by: int = 5) -> None:
        self.set_tempo(self.choices.tempo + by)

    def set_level(self, level: float) -> None:
        self.choices = replace(self.choices, level=max(0.0, min(1.0, level)))
        self.player.level(self.choices.level)

    def louder(self, by: float) -> None:
        """Negative: softer."""
        self.set_level(round(self.choices.level + by, 2))

    def turn_muted(self, strand: Strand) -> None:
        on = strand not in self.muted
        self.muted = self.muted | {strand} if on else self.muted - {strand}
        self.player.mute(strand, on)

    def turn_alone(self, strand: Strand) -> None:
        """Hear one strand alone, or all again."""
        self.only = None if self.only == strand else strand
        self.player.alone(self.only)

    def next_drone(self) -> None:
        self._choose(drone=DRONES[(DRONES.index(self.choices.drone) + 1) % len(DRONES)])

    def turn_answer_gap(self) -> None:
        self._choose(answer_gap=not self.choices.answer_gap)

    def turn_count_in(self) -> None:
        meter = self.line.meter
        self._choose(count_in=0 if self.choices.count_in else (meter.beats if meter and meter.beats <= 4 else 2))

    def turn_shaped(self) -> None:
        self._choose(shaped=not self.choices.shaped)

    def _choose(self, **changes: object) -> None:
        self.choices = replace(self.choices, **changes)  # type: ignore[arg-type]
        self._load("seam")
