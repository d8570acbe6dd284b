"""Which sung tone answers which tone of the layer: alignment by edits, octaves folded, in free time.

Order and proportion count, not the metronome. A first pass knows pitch alone; from its matches the singer's own time
is found, and a second pass prefers the tone that comes near its place. The costs are weights of ours, not measured.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from earloop.hearing.pitch_track import Floats

WRONG, MISSED, EXTRA = 0.6, 0.75, 0.65
"""Two tones swapped cost two wrong ones, less than a missed one and an extra one."""
AGAIN = 0.05
"""A tone taken up again on its own pitch, or one breath that holds through a repeated tone."""
SAME = 75.0
"""Cents within which a tone is on the pitch that is taken up again or held through."""
PLACE, PLACE_REACH = 0.25, 0.6
"""What a tone far from its place costs at most, and how far (seconds) that is."""
REACH = 4.0


@dataclass(frozen=True, slots=True)
class Alignment:
    """`answers[i]` is the sung tone that answers layer tone i, or None; `extra` the sung tones that answer none."""

    answers: tuple[int | None, ...]
    extra: tuple[int, ...]
    cost: float


def folded(cents: Floats) -> Floats:
    """Cents brought within -600..600 by octaves."""
    result: Floats = (cents + 600) % 1200 - 600
    return result


def align(meant: Floats, sung: Floats, lengths: Floats, places: Floats | None = None) -> Alignment:
    """`meant` and `sung` in fractional keys, `lengths` of the sung in seconds; `places` (layer × sung) in seconds off.

    A path over layer tones × sung tones; ties go to the earlier rule below.
    """
    n, m = len(meant), len(sung)
    cents = np.abs(folded(100 * (sung[None, :] - meant[:, None])))
    match = np.minimum(cents / 100, 1.0) ** 2 * WRONG
    if places is not None:
        match = match + PLACE * np.minimum(np.abs(places) / PLACE_REACH, 1.0)
    extra = EXTRA * np.clip(lengths / 0.15, 0.3, 1.0)
    # A tone held through must still be sounding where the repeated tone has its place.
    through = cents < SAME if places is None else (cents < SAME) & (-places < lengths)
    total = np.full((n + 1, m + 1), np.inf)
    move = np.zeros((n + 1, m + 1), dtype=np.int8)
    total[0, 0] = 0.0
    for i in range(n + 1):
        for j in range(m + 1):
            for kind, cost in _ways(i, j, total, match, cents, extra, through, meant, sung):
                if cost < total[i, j] - 1e-12:
                    total[i, j], move[i, j] = cost, kind
    return _path(move, n, m, float(total[n, m]))


def _ways(
    i: int,
    j: int,
    total: Floats,
    match: Floats,
    cents: Floats,
    extra: Floats,
    through: NDArray[np.bool_],
    meant: Floats,
    sung: Floats,
) -> list[tuple[int, float]]:
    """Ways into a cell: 1 answer, 2 missed, 3 extra, 4 taken up again, 5 held through."""
    ways: list[tuple[int, float]] = []
    if i and j:
        ways.append((1, total[i - 1, j - 1] + match[i - 1, j - 1]))
    if i:
        ways.append((2, total[i - 1, j] + MISSED))
    if j:
        ways.append((3, total[i, j - 1] + extra[j - 1]))
    if i and j > 1 and cents[i - 1, j - 1] < SAME and abs(sung[j - 1] - sung[j - 2]) < 0.5:
        ways.append((4, total[i, j - 1] + AGAIN + 0.2 * EXTRA))
    if i > 1 and j and through[i - 1, j - 1] and meant[i - 1] == meant[i - 2]:
        ways.append((5, total[i - 1, j] + AGAIN + 0.2 * MISSED))
    return ways


def _path(move: NDArray[np.int8], i: int, j: int, cost: float) -> Alignment:
    answers: list[int | None] = [None] * i
    extra: list[int] = []
    while i or j:
        kind = int(move[i, j])
        if kind == 1:
            i, j = i - 1, j - 1
            answers[i] = j
        elif kind == 2:
            i -= 1
        elif kind == 5:
            i -= 1
            answers[i] = j - 1
        else:
            j -= 1
            if kind == 3:
                extra.append(j)
    return Alignment(tuple(answers), tuple(extra[::-1]), cost)


def own_time(onsets: Floats, answers: tuple[int | None, ...], starts: Floats) -> Floats | None:
    """When (seconds) each layer tone would come in the singer's own time; None with fewer than three answers.

    A line through the neighbouring answers, nearer ones weighing more and the tone itself left out, so that time may
    stretch over a phrase while proportion still counts.
    """
    pairs = [(i, answers[i]) for i in range(len(answers)) if answers[i] is not None]
    known = [(i, j) for k, (i, j) in enumerate(pairs) if j is not None and (k == 0 or pairs[k - 1][1] != j)]
    if len(known) < 3:
        return None
    index = np.array([i for i, _ in known])
    x, y = onsets[index], starts[np.array([j for _, j in known])]
    out = np.zeros(len(onsets))
    for i, onset in enumerate(onsets):
        weight = np.exp(-0.5 * ((index - i) / REACH) ** 2) * (index != i)
        out[i] = _line_at(x, y, weight, float(onset))
    return out


def _line_at(x: Floats, y: Floats, weight: Floats, at: float) -> float:
    """A weighted line through the points, fitted twice so that one tone out of place weighs little."""
    value = 0.0
    for _ in range(3):
        mean_x, mean_y = np.average(x, weights=weight), np.average(y, weights=weight)
        spread = float(np.sum(weight * (x - mean_x) ** 2))
        slope = float(np.sum(weight * (x - mean_x) * (y - mean_y))) / spread if spread > 1e-9 else 0.0
        value = float(mean_y + slope * (at - mean_x))
        off = np.abs(y - mean_y - slope * (x - mean_x))
        weight = weight / (1 + (off / 0.15) ** 2)
    return value
