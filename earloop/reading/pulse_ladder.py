"""How a meter divides: the nested beats of a measure (Lerdahl & Jackendoff 1983, metrical well-formedness)."""

from __future__ import annotations

from earloop.line import Meter

BELOW = 5
"""How many kinds of beat are told apart inside a measure."""


def counted_beat(meter: Meter) -> float:
    """The beat one counts, in quarters: three units in 6/8, 9/8, 12/8; the unit elsewhere."""
    unit = 4.0 / meter.unit
    return 3 * unit if meter.beats % 3 == 0 and meter.beats > 3 else unit


def ladder(meter: Meter) -> tuple[float, ...]:
    """Beat lengths of a meter in quarters, finest first, the measure last: 3/4 has 3, 1, 1/2, 1/4 …"""
    unit, beat = 4.0 / meter.unit, counted_beat(meter)
    count = round(meter.measure_length / beat)
    lengths = [beat * count]
    if count % 2 == 0 and count > 2:
        lengths.append(lengths[-1] / 2)
    if count > 1 and lengths[-1] > beat:
        lengths.append(beat)
    if beat > unit:
        lengths.append(unit)
    while len(lengths) < BELOW + 1:
        lengths.append(lengths[-1] / 2)
    return tuple(lengths[BELOW::-1])
