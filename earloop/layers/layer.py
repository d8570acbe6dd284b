"""A layer: the line with something left out or added, ready to be performed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from earloop.line import Pitch, Span
from earloop.reading.record import Voice

LayerName = Literal["skeleton", "upper", "lower", "interleaved", "bridged", "held", "ornamented"]
Role = Literal["page", "bridge", "held"]


@dataclass(frozen=True, slots=True)
class LayerTone:
    """One tone of a layer. `source` is its index in the line; `onset` in quarters from the layer's start.

    A `bridge` sounds its source once more before the line goes on; a `held` tone sounds on softly below.
    """

    source: int
    onset: float
    length: float
    pitch: Pitch
    voice: Voice
    role: Role = "page"

    @property
    def end(self) -> float:
        return self.onset + self.length


@dataclass(frozen=True, slots=True)
class Layer:
    """Tones in order of onset over `span` of the line; `length` is the time of one pass in quarters.

    `true_time` says that rests where the other line speaks are kept; otherwise they are closed up.
    """

    name: LayerName
    span: Span
    tones: tuple[LayerTone, ...]
    length: float
    true_time: bool = True
    depth: int = 0
