"""What a performer has chosen: the layer, the loop, the time, the names of the degrees, the sound."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from earloop.layers import LayerName
from earloop.performing.manner import DroneKind

LoopKind = Literal["phrase", "gesture", "marks", "whole"]
LOOPS: tuple[LoopKind, ...] = ("phrase", "gesture", "marks", "whole")
DegreeNames = Literal["numbers", "do", "la", "notes"]
DEGREE_NAMES: tuple[DegreeNames, ...] = ("numbers", "do", "la", "notes")
"""Numbers; movable-do syllables with do- or la-based minor; or the notes' own names."""
DRONES: tuple[DroneKind, ...] = ("off", "tonic", "fifth")
SLOWEST, FASTEST = 10, 300


@dataclass(frozen=True, slots=True)
class Choices:
    """`tempo` in percent of the score's own. `depths` holds a depth for each layer that was changed.

    `switch_now` changes the layer at once instead of at the next loop seam.
    """

    layer: LayerName = "skeleton"
    depths: tuple[tuple[LayerName, int], ...] = ()
    true_time: bool = True
    loop: LoopKind = "phrase"
    tempo: int = 100
    degree_names: DegreeNames = "numbers"
    drone: DroneKind = "off"
    count_in: int = 0
    answer_gap: bool = False
    shaped: bool = True
    switch_now: bool = False
    level: float = 0.5
    home_or_local: Literal["home", "local"] = "home"

    def with_depth(self, layer: LayerName, depth: int) -> Choices:
        """The same choices with one layer's depth set."""
        kept = tuple(pair for pair in self.depths if pair[0] != layer)
        return replace(self, depths=(*kept, (layer, depth)))
