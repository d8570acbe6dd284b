"""What is to sound: events in musical time, ready for a player that knows seconds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Strand = Literal["upper", "middle", "lower", "single", "held", "bridge", "drone", "count"]
STRANDS: tuple[Strand, ...] = ("upper", "middle", "lower", "single", "held", "bridge", "drone", "count")
"""Each strand has its own timbre, side and MIDI channel, and can be muted or heard alone."""


@dataclass(frozen=True, slots=True)
class Event:
    """One sounding. `onset` and `length` in quarters of performed time from the start of the pass.

    `midi` is the MIDI key, `cents` a deviation from equal temperament, `loudness` 0..1 (MIDI velocity / 127),
    `source` the tone's index in the line (None for drone and count), `legato` binds it to the next of its strand.
    """

    onset: float
    length: float
    midi: int
    loudness: float
    strand: Strand
    cents: float = 0.0
    source: int | None = None
    legato: bool = False


@dataclass(frozen=True, slots=True)
class Performance:
    """Events of one pass in order of onset, played again and again.

    `length` is one pass in quarters, any answer gap included; `lead_in` quarters of count-in sound once before the
    first pass (`count_in` events have onsets 0..lead_in). `tempo` is quarters a minute at 100 %.
    `position_map` pairs performed quarters with the line's own quarters (both rising), so that a screen can show
    where in the score the sound is. `title` names it in files.
    From `answer_from` to the end of the pass the line is silent, for singing it back; None where there is no gap.
    """

    events: tuple[Event, ...]
    length: float
    tempo: float = 72.0
    count_in: tuple[Event, ...] = ()
    lead_in: float = 0.0
    position_map: tuple[tuple[float, float], ...] = ()
    title: str = ""
    answer_from: float | None = None
