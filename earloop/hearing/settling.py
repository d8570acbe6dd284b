"""The cheapest of several alignments, each settled in the singer's own time.

Where a tone comes follows from the tones around it, and which of them were sung from where each comes: the two are
found in turn, which leads to what lies near the start. So there are several starts, and the cheapest end counts: pitch
alone, with and without tones held through; the whole of the take; and then the cheapest so far, with the time around
whatever is odd in it told by the rest: two tones swapped where the pitch returns would else pass for one tone held
through and all that follow late.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from earloop.hearing.alignment import Alignment, align
from earloop.hearing.own_time import REACH, own_time, whole_time
from earloop.hearing.pitch_track import Floats

SHORTEST_EXTRA = 0.15
"""Seconds: what is shorter is a slide or a grace of the voice, not a tone too many."""
ODD_REACH = 3
"""Tones on either side of what is odd that tell no time there."""
FAR_REACH = 8.0
"""Tones on either side that tell it then (standard deviation of their weights)."""
TURNS = 2


@dataclass(frozen=True, slots=True)
class TimeMeant:
    """The proportions asked for: when each tone comes and is half over (2 × tones, quarters as performed), when the
    last one is over, and the places of the tones before which one may breathe."""

    moments: Floats
    end: float
    breaths: Floats


@dataclass(frozen=True, slots=True)
class Take:
    """What was sung, piece by piece: fractional keys, and starts and lengths in seconds."""

    midi: Floats
    starts: Floats
    lengths: Floats


@dataclass(frozen=True, slots=True)
class Settled:
    """`places` (2 × tones) says in seconds when each tone comes and is half over; None where too few tell it."""

    found: Alignment
    places: Floats | None


def settled(meant: Floats, take: Take, time: TimeMeant) -> Settled:
    """`meant` in fractional keys."""
    if not len(take.midi):
        return Settled(align(meant, take.midi, take.starts, take.lengths), None)
    sounded = float(take.starts[0]), float(take.starts[-1] + take.lengths[-1])
    whole = whole_time(float(time.moments[0, 0]), time.end, time.moments, sounded)
    best = _from(meant, take, time, None)
    for places, through in ((whole, True), (None, False)):
        best = _cheaper(best, _from(meant, take, time, places, through))
    around = _places(best.found, take, time, FAR_REACH, _odd(best.found, take.lengths))
    return best if around is None else _cheaper(best, _from(meant, take, time, around))


def _from(meant: Floats, take: Take, time: TimeMeant, places: Floats | None, through: bool = True) -> Settled:
    """What these places lead to."""
    pieces = take.midi, take.starts, take.lengths
    found = align(meant, *pieces, places, through)
    for _ in range(TURNS):
        own = _places(found, take, time)
        if own is None:
            break
        found = align(meant, *pieces, own)
    return Settled(found, _places(found, take, time))


def _cheaper(best: Settled, other: Settled) -> Settled:
    if other.places is not None and (best.places is None or other.found.cost < best.found.cost):
        return other
    return best


def _odd(found: Alignment, lengths: Floats) -> set[int]:
    """Tones near one that was missed or held through, or near a tone too many."""
    answers = found.answers
    odd = [k for k, a in enumerate(answers) if a is None or (k > 0 and answers[k - 1] == a)]
    ends = np.maximum.accumulate([-1 if a is None else a[1] for a in answers]) if answers else np.zeros(0)
    odd += [int(np.searchsorted(ends, j)) for j in found.extra if lengths[j] >= SHORTEST_EXTRA]
    return {k + step for k in odd for step in range(-ODD_REACH, ODD_REACH + 1)}


def _places(
    found: Alignment, take: Take, time: TimeMeant, reach: float = REACH, without: set[int] | None = None
) -> Floats | None:
    """When each tone comes and is half over in the singer's own time; a tone held through tells nothing."""
    own = [
        (k, answer[0])
        for k, answer in enumerate(found.answers)
        if answer is not None and (k == 0 or found.answers[k - 1] != answer) and k not in (without or ())
    ]
    index, first = np.array([k for k, _ in own], dtype=np.int64), np.array([j for _, j in own], dtype=np.int64)
    every = np.arange(time.moments.shape[1], dtype=np.float64)
    known = index.astype(np.float64), time.moments[0][index], take.starts[first]
    come, half = (own_time(*known, every, at, time.breaths, reach) for at in time.moments)
    return None if come is None or half is None else np.stack([come, half])
