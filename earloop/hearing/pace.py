"""The singer's own pace, and what follows from it: whether a tone was held long enough; and, if asked, the beat.

Order and proportion are judged in the singer's own time: its pace is the median slope of all pairs of answered tones
(Theil 1950, Sen 1968), so that one tone out of place weighs little. Only `off_the_beat` knows a metronome.
"""

from __future__ import annotations

from itertools import combinations, groupby

import numpy as np

from earloop.hearing.compare import Comparison
from earloop.layers import Layer

HELD = 0.6
"""Share of its proportional length from which a tone counts as held: a breath and a consonant take the rest.
Common practice, no source; a default the user can change."""
ON_THE_BEAT = 100.0
"""Milliseconds early or late that still count as on the beat, where it is asked for. A trained ensemble's onsets lie
30 to 50 ms apart (Rasch 1979, from memory); sung onsets are softer. A default the user can change."""

LAG_TELLS = 4
"""Tones that a common lag must be told from."""
LEAST_LAG, MOST_LAG = 30, 1000
"""Milliseconds: less lies within what an ensemble plays apart (Rasch 1979, from memory); more is another beat."""
SCATTER, SCATTER_SHARE = 50.0, 0.5
"""Milliseconds, and share of the lag, by which half of the tones may lie off it; farther apart they have none."""


def own_pace(onsets: tuple[float, ...], heard: Comparison) -> float | None:
    """Seconds a quarter as it was sung; None where fewer than two tones tell it. `onsets` are performed quarters."""
    known = [(onsets[tone.index], tone.onset) for tone in heard.tones if tone.onset is not None]
    slopes = [
        (later[1] - sooner[1]) / (later[0] - sooner[0])
        for sooner, later in combinations(known, 2)
        if later[0] > sooner[0] + 1e-6 and later[1] > sooner[1]
    ]
    return float(np.median(slopes)) if slopes else None


def shares_held(
    layer: Layer, onsets: tuple[float, ...], heard: Comparison, pace: float | None = None
) -> tuple[float | None, ...]:
    """For each tone heard or missed, its sung length over what its proportion asks for; None where that isn't known.

    A fermata asks for no more than is written. `onsets` are the layer's performed ones in quarters, `pace` is in
    seconds a quarter, the singer's own where it is None. One breath through repeated tones counts as one.
    """
    second = pace or own_pace(onsets, heard)
    shares: list[float | None] = []
    for onset, group in groupby(heard.tones, key=lambda tone: tone.onset):
        tones = list(group)
        meant = sum(layer.tones[tone.index].length for tone in tones)
        length = tones[0].length
        if onset is None or length is None or second is None or meant <= 0:
            shares += [None] * len(tones)
        else:
            shares += [round(length / (meant * second), 2)] * len(tones)
    return tuple(shares)


def common_lag(beat: tuple[int | None, ...]) -> int:
    """Milliseconds by which all tones alike are late (negative: early) against the beat; 0 where there is no such lag.

    A wireless link or a device's buffers make one, and so does a player: from the sound alone they are not to be told
    apart. It is the median, where the tones lie close about it; a pace that differs, or single late tones, is none.
    """
    known = np.array([late for late in beat if late is not None], dtype=np.float64)
    if len(known) < LAG_TELLS:
        return 0
    lag = float(np.median(known))
    scatter = float(np.median(np.abs(known - lag)))
    if not LEAST_LAG <= abs(lag) <= MOST_LAG or scatter > min(SCATTER, SCATTER_SHARE * abs(lag)):
        return 0
    return round(lag)


def off_the_beat(onsets: tuple[float, ...], heard: Comparison, pace: float, begin: float) -> tuple[int | None, ...]:
    """Milliseconds each tone came after the beat (negative: before it), None where it was missed or held through.

    `onsets` are the layer's performed ones in quarters, `pace` the player's seconds a quarter, `begin` the second of
    the take at which the player's time begins.
    """
    out: list[int | None] = []
    before: float | None = None
    for tone in heard.tones:
        if tone.onset is None or tone.onset == before:
            out.append(None)
        else:
            out.append(round(1000 * (tone.onset - begin - onsets[tone.index] * pace)))
        before = tone.onset
    return tuple(out)
