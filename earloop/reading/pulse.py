"""Where the beats fall: the score's own meter, or the pulse that the onsets imply.

A measure is divided into nested beats (Lerdahl & Jackendoff 1983, metrical well-formedness rules): every onset has
the strength of the widest beat it falls on. Without a meter the pulse is inferred (`pulse_found`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line, Meter
from earloop.reading.line_at_hand import once_a_line
from earloop.reading.pulse_found import Way, find_meters
from earloop.reading.pulse_ladder import counted_beat, ladder

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

_NEAR = 1e-3


@dataclass(frozen=True)
class Pulse:
    """The beats under a line, one value a tone.

    `place` is the time since the first downbeat of the tone's section in quarters; `periods` the beat lengths in
    quarters, one row a tone, finest first, the measure last; `beat` is the counted beat; `measure` numbers the measures
    through the line. `strength` is log2 of the beat's length against the measure: 0 on a downbeat, negative inside.
    `sure` is 1 where the score gives the meter, else the chance that the inferred one is right, one value a tone.
    `ways` are the meters that may be right where the score gives none, each with its tones and how likely it is there.
    """

    place: Floats
    periods: Floats
    beat: Floats
    strength: Floats
    measure: Ints
    sure: Floats
    ways: tuple[tuple[Ints, Floats, Pulse], ...] = ()

    @property
    def bar(self) -> Floats:
        """Length of the measure around each tone, in quarters."""
        return self.periods[:, -1]

    @property
    def off_beat(self) -> Flags:
        """Tones that begin between the counted beats."""
        return np.asarray(-self.strength > np.log2(self.bar / self.beat) + 0.1)


@once_a_line
def find_pulse(line: Line) -> Pulse:
    """The beats of the score's meters, or inferred ones where it gives none. Found once for the line at hand."""
    columns = line.columns
    meters = [(at, meter) for at, meter in line.meters if _counts(meter)]
    if meters:
        starts = np.array([at for at, _ in meters])
        which = np.clip(np.searchsorted(starts, columns.onset + _NEAR, side="right") - 1, 0, None)
        origins = np.array([_origin(at, meter) for at, meter in meters])
        return _pulse(columns.onset, tuple(meter for _, meter in meters), which, origins[which], np.ones(len(line)))
    found = find_meters(columns)
    pulse = _pulse(columns.onset, found.meters, found.which, found.origin, found.sure)
    ways = tuple((way.tones, way.share, _pulse_of(columns.onset[way.tones], way)) for way in found.ways)
    return replace(pulse, strength=np.minimum(found.reach - np.log2(pulse.bar), 0.0), ways=ways)


def _pulse_of(onset: Floats, way: Way) -> Pulse:
    size = len(onset)
    return _pulse(onset, (way.meter,), np.zeros(size, dtype=np.int64), np.full(size, way.origin), way.share)


def _counts(meter: Meter) -> bool:
    """Whether beats can be counted by it: a meter of no beats, from a broken file, says nothing."""
    return meter.beats >= 1 and meter.unit >= 1 and bool(np.isfinite(meter.first_downbeat))


def _origin(at: float, meter: Meter) -> float:
    """A later meter's first downbeat stands where the meter starts, unless it says a later place."""
    return meter.first_downbeat if meter.first_downbeat >= at else at


def _pulse(onset: Floats, meters: tuple[Meter, ...], which: Ints, origin: Floats, sure: Floats) -> Pulse:
    periods = np.array([ladder(meter) for meter in meters])[which]
    beat = np.array([counted_beat(meter) for meter in meters])[which]
    place = onset - origin
    bar = periods[:, -1]
    off = np.abs(place[:, None] / periods - np.round(place[:, None] / periods)) * periods
    near = np.minimum(_NEAR + 0.0 * periods, periods / 4)
    on = off < near
    finest = periods[:, 0] * 0.7
    widest = np.where(
        on.any(axis=1), periods[np.arange(len(place)), periods.shape[1] - 1 - np.argmax(on[:, ::-1], axis=1)], finest
    )
    within = np.floor(place / bar + _NEAR / bar)
    moved = np.flatnonzero((np.diff(origin) != 0) | (np.diff(bar) != 0)) + 1
    section = np.zeros(len(place))
    section[moved] = 1
    measure = np.cumsum(np.maximum(np.append(0, np.diff(within)), 0) * (section == 0) + section).astype(np.int64)
    return Pulse(place, periods, beat, np.log2(widest / bar), measure, sure)
