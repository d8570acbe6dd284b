"""The singer's own time: where each tone would come at the pace of its neighbours."""

from __future__ import annotations

import numpy as np

from earloop.hearing.pitch_track import Floats

REACH = 3.0
"""Tones on either side that tell the pace (standard deviation of their weights)."""
LEAST = 3
OFF = 0.15
"""Seconds off the line at which a tone weighs half."""


def own_time(index: Floats, onsets: Floats, starts: Floats, at_index: Floats, at: Floats) -> Floats | None:
    """When (seconds) the layer's moments `at` (quarters) come in the singer's own time; None with too few answers.

    `index`, `onsets` (quarters) and `starts` (seconds) are those of the answered tones, `at_index` the tone of each
    moment. A line through the neighbouring answers, nearer ones weighing more and the tone itself left out, so that
    time may stretch over a phrase while proportion still counts.
    """
    if len(index) < LEAST:
        return None
    weight = np.exp(-0.5 * ((index[None, :] - at_index[:, None]) / REACH) ** 2) * (index[None, :] != at_index[:, None])
    return _line_at(onsets, starts, weight + 1e-12, at)


def whole_time(begun: float, ended: float, starts: Floats, sung: tuple[float, float]) -> Floats:
    """A first guess for moments (quarters): the layer, `begun` to `ended`, laid over the whole of what was sung."""
    result: Floats = sung[0] + (starts - begun) * (sung[1] - sung[0]) / max(ended - begun, 1e-6)
    return result


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
