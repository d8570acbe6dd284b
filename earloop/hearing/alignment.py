"""Which sung tone answers which tone of the layer: alignment by edits, octaves folded, in free time.

Order and proportion count, not the metronome: `own_time` says where a tone would come at the singer's own pace. What
was sung comes in pieces, cut rather too often than too seldom, since only here is it known which tones were asked for:
one tone may take several pieces in a row, as the swings of a slow wide vibrato, a scoop, or a tone taken up again. The
costs are weights of ours, set on the tuning half of `tests/bench/checker.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.hearing.pitch_track import Floats

Ints = NDArray[np.int64]

WRONG, MISSED, EXTRA = 0.6, 0.75, 0.65
"""Two tones swapped cost two wrong ones, less than a missed one and an extra one."""
EXTRA_LENGTHS, EXTRA_SHARES = np.array([0.0, 0.045, 0.15, 0.5]), np.array([0.3, 0.3, 1.0, 1.3])
"""Seconds, and what share of EXTRA a piece so long costs: rather a slide too many than a tone."""
AGAIN = 0.05
"""A tone taken up again on its own pitch, or one breath that holds through a repeated tone."""
HELD = 0.35
SAME = 75.0
"""Cents within which a tone is on the pitch that is held through."""
THROUGH = 0.6
"""Share of the half of a repeated tone for which one that is held through must sound on: tones are often cut short."""
PLACE, FREE, FREE_SHARE = 1.0, 0.1, 0.15
FAR, FAR_LEAST, FAR_SHARE = 0.7, 0.3, 1.0
"""What a tone far from its place costs at most: nothing up to FREE seconds and FREE_SHARE of the time to its nearer
neighbour; all of it FAR seconds beyond, sooner where the neighbours lie close: FAR_SHARE of that time."""
NEARLY = 0.2
"""What it costs at FREE, growing with the square of the time: of two ways that explain the pitches alike, the steadier
time is the likelier one."""
BRIEF = 0.5
"""What a tone of no length costs; from half the length it should have it costs nothing."""
SPREAD = 0.5
"""For each second and semitone squared that the pieces of one tone lie apart."""
SWING = 0.16
"""Seconds: half a swing of vibrato is shorter; longer pieces that lie apart are other tones (weighed OTHER times)."""
OTHER = 4.0
GAP, REACH = 0.06, 0.35
"""Seconds of silence between two pieces: from GAP the tone was taken up again, from REACH it is another one."""
MOST = 24
"""Pieces that one tone may take."""


@dataclass(frozen=True, slots=True)
class Alignment:
    """`answers[i]` is the run of sung pieces (first, last) that answers layer tone i, or None; `extra` answers none."""

    answers: tuple[tuple[int, int] | None, ...]
    extra: tuple[int, ...]
    cost: float


def folded(cents: Floats) -> Floats:
    """Cents brought within -600..600 by octaves."""
    result: Floats = (cents + 600) % 1200 - 600
    return result


def align(
    meant: Floats,
    sung: Floats,
    starts: Floats,
    lengths: Floats,
    places: Floats | None = None,
    through: bool = True,
) -> Alignment:
    """`meant` and `sung` in fractional keys; `starts` and `lengths` of the sung in seconds.

    `places` (2 × layer) says in seconds when each tone comes and when half of it is over. Without `through` no tone is
    held through a repeated one.
    """
    n, m = len(meant), len(sung)
    off = folded(100 * (sung[None, :] - meant[:, None])) / 100
    runs = _Runs(off, starts, lengths, places)
    extra = EXTRA * np.interp(lengths, EXTRA_LENGTHS, EXTRA_SHARES)
    again = np.append(False, (meant[1:] == meant[:-1]) & through) if n else np.zeros(0, dtype=bool)
    total = np.full((n + 1, m + 1), np.inf)
    came = np.zeros((n + 1, m + 1), dtype=np.int64)
    """0 extra, -1 missed, -2 held through, k > 0: answered by the last k pieces."""
    total[0, 0] = 0.0
    for j in range(m + 1):
        if j:
            total[:, j] = total[:, j - 1] + extra[j - 1]
            cost, least = runs.ending(j)
            for k in range(cost.shape[1]):
                ways = total[:-1, j - 1 - k] + cost[:, k]
                better = ways < total[1:, j] - 1e-12
                total[1:, j][better], came[1:, j][better] = ways[better], k + 1
            held = again & least
        else:
            held = np.zeros(n, dtype=bool)
        _passed_over(total[:, j], came[:, j], held)
    return _path(came, n, m, float(total[n, m]))


class _Runs:
    """What it costs that a tone is answered by a run of pieces."""

    def __init__(self, off: Floats, starts: Floats, lengths: Floats, places: Floats | None) -> None:
        self.off, self.starts, self.ends, self.places = off, starts, starts + lengths, places
        if places is not None:
            apart = np.maximum(np.diff(places[0]), 0.0)
            near = np.minimum(np.append(np.inf, apart), np.append(apart, np.inf))
            self.free = FREE + FREE_SHARE * np.minimum(near, 4.0)
            self.far = np.clip(FAR_SHARE * near, FAR_LEAST, FAR)
        weight = lengths * np.where(lengths > SWING, OTHER, 1.0)
        rows = np.stack(np.broadcast_arrays(lengths, lengths * off, weight, weight * off, weight * off**2))
        self.sums = np.concatenate([np.zeros((*rows.shape[:2], 1)), np.cumsum(rows, axis=2)], axis=2)
        silence = np.append(np.inf, starts[1:] - self.ends[:-1]) if len(starts) else np.zeros(0)
        self.apart = silence >= REACH
        self.taken_up = np.cumsum(np.append(0.0, AGAIN * (silence >= GAP)))

    def ending(self, j: int) -> tuple[Floats, NDArray[np.bool_]]:
        """Costs (layer × number of pieces less one) of the runs up to piece j - 1; whether the last holds through."""
        first = j - 1
        while first > 0 and j - first < MOST and not self.apart[first]:
            first -= 1
        begun = np.arange(j - 1, first - 1, -1)
        length, moved, weight, weighed, square = self.sums[:, :, j, None] - self.sums[:, :, begun]
        middle = moved / length
        spread = np.maximum(square - 2 * middle * weighed + middle**2 * weight, 0.0)
        cost = WRONG * np.minimum(np.abs(middle), 1.0) ** 2 + SPREAD * spread
        cost += self.taken_up[j] - self.taken_up[begun + 1]
        through = np.abs(100 * self.off[:, j - 1]) < SAME
        if self.places is not None:
            place, half = self.places
            late = np.abs(self.starts[None, begun] - place[:, None])
            cost += PLACE * np.clip((late - self.free[:, None]) / self.far[:, None], 0.0, 1.0)
            cost += NEARLY * np.minimum(late / self.free[:, None], 1.0) ** 2
            share = (self.ends[j - 1] - self.starts[begun])[None, :] / np.maximum(half - place, 0.02)[:, None]
            cost += BRIEF * np.clip(1 - share, 0.0, 1.0)
            # A tone held through must still be sounding well into the repeated tone.
            through &= place + THROUGH * (half - place) < self.ends[j - 1]
        return cost, through


def _passed_over(total: Floats, came: Ints, held: NDArray[np.bool_]) -> None:
    """Tones that no piece answers: missed, or held through."""
    step = np.append(0.0, np.cumsum(np.where(held, HELD, MISSED)))
    least = np.minimum.accumulate(total - step) + step
    better = least < total - 1e-12
    total[better] = least[better]
    came[better] = np.where(np.append(False, held), -2, -1)[better]


def _path(came: Ints, i: int, j: int, cost: float) -> Alignment:
    answers: list[tuple[int, int] | None] = [None] * i
    extra: list[int] = []
    waiting: list[int] = []
    while i or j:
        kind = int(came[i, j])
        if kind > 0:
            i, j = i - 1, j - kind
            answers[i] = (j, j + kind - 1)
            for k in waiting:
                answers[k] = answers[i]
            waiting = []
        elif kind < 0:
            i -= 1
            if kind == -2:
                waiting.append(i)
        else:
            j -= 1
            extra.append(j)
    return Alignment(tuple(answers), tuple(extra[::-1]), cost)
