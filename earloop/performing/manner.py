"""How a layer is to be performed: what a performer can choose."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

DroneKind = Literal["off", "tonic", "fifth"]
DEFAULT_TEMPO = 72.0
"""Quarters a minute where the score names no tempo: a calm walking pace (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Manner:
    """`answer_gap` leaves each pass's own time silent afterwards, to sing it back. `count_in` is beats before
    the first pass. `shaped` turns the loudness of leans, phrases and the score's dynamics on; off is level.
    `breathing` stretches fermatas and breaths in proportion; off keeps strict time.
    """

    drone: DroneKind = "off"
    count_in: int = 0
    answer_gap: bool = False
    shaped: bool = True
    breathing: bool = True
