"""The singer's own time: where each tone would come at the pace of its neighbours, however long each breath took."""

from __future__ import annotations

import numpy as np

from earloop.hearing.pitch_track import Floats

REACH = 3.0
"""Tones on either side that tell the pace (standard deviation of their weights)."""
LEAST = 3
OFF = 0.15
"""Seconds off the line at which a tone weighs half."""
AS_PERFORMED = 0.03
"""How many tones' worth it weighs that a breath takes as long as the player would take for it."""


def own_time(
    index: Floats,
    onsets: Floats,
    starts: Floats,
    at_index: Floats,
    at: Floats,
    breaths: Floats,
    reach: float = REACH,
) -> Floats | None:
    """When (seconds) the layer's moments `at` (quarters) come in the singer's own time; None with too few answers.

    `index`, `onsets` (quarters) and `starts` (seconds) are those of the answered tones, `at_index` the tone of each
    moment, `breaths` the tones before which one may breathe, rising. A line through the neighbouring answers, nearer
    ones weighing more (`reach` as REACH) and the tone itself left out, so that time may stretch over a phrase while
    proportion still counts.
    """
    if len(index) < LEAST:
        return None
    more = np.append(0.0, np.cumsum(_breathed(index, onsets, starts, breaths)))
    moved = starts - more[np.searchsorted(breaths, index, side="right")]
    weight = np.exp(-0.5 * ((index[None, :] - at_index[:, None]) / reach) ** 2) * (index[None, :] != at_index[:, None])
    come = _line_at(onsets, moved, weight + 1e-12, at)
    result: Floats = come + more[np.searchsorted(breaths, at_index, side="right")]
    return result


def whole_time(begun: float, ended: float, starts: Floats, sung: tuple[float, float]) -> Floats:
    """A first guess for moments (quarters): the layer, `begun` to `ended`, laid over the whole of what was sung."""
    result: Floats = sung[0] + (starts - begun) * (sung[1] - sung[0]) / max(ended - begun, 1e-6)
    return result


def _breathed(index: Floats, onsets: Floats, starts: Floats, breaths: Floats) -> Floats:
    """Seconds that each breath took longer (shorter: negative) than the pace around it says.

    A line with a step at the breath, through the answers on both sides; the steps of other breaths are taken off, all
    in turn and again, since one phrase may be shorter than what tells the pace.
    """
    longer = np.zeros(len(breaths))
    after = (index[None, :] >= breaths[:, None]).astype(np.float64)
    near = np.exp(-0.5 * ((index[None, :] - breaths[:, None] + 0.5) / REACH) ** 2)
    told = np.minimum((near * after).sum(axis=1), (near * (1 - after)).sum(axis=1)) > 0.5
    for _ in range(3):
        for k in np.flatnonzero(told):
            others = starts - (longer @ after - longer[k] * after[k])
            longer[k] = _step(onsets, others, after[k], near[k])
    return longer


def _step(x: Floats, y: Floats, after: Floats, near: Floats) -> float:
    """How much higher the line through the later points lies, the slope in common; points out of place weigh little."""
    columns = np.stack([np.ones_like(x), x - x.mean(), after], axis=1)
    weight, step = near, 0.0
    for _ in range(3):
        square = columns.T @ (weight[:, None] * columns) + np.diag([1e-9, 1e-9, AS_PERFORMED])
        fitted = np.linalg.solve(square, columns.T @ (weight * y))
        weight = near / (1 + ((y - columns @ fitted) / OFF) ** 2)
        step = float(fitted[2])
    return step


def _line_at(x: Floats, y: Floats, weight: Floats, at: Floats) -> Floats:
    """Weighted lines (one a row) through the points, fitted again so that one tone out of place weighs little."""
    value = np.zeros(len(at))
    for _ in range(3):
        sure = weight / np.sum(weight, axis=1, keepdims=True)
        mean_x, mean_y = sure @ x, sure @ y
        from_x, from_y = x[None, :] - mean_x[:, None], y[None, :] - mean_y[:, None]
        spread = np.sum(sure * from_x**2, axis=1)
        slope = np.sum(sure * from_x * from_y, axis=1) / np.maximum(spread, 1e-9)
        value = mean_y + slope * (at - mean_x)
        weight = weight / (1 + (np.abs(from_y - slope[:, None] * from_x) / OFF) ** 2)
    return value
