"""Which tone of a time-span stands for it: the preference every tone brings to the competition.

Terms follow the time-span reduction preference rules of Lerdahl & Jackendoff 1983 (numbers as there), in octaves of
length: one point is worth a doubling of the time until the next onset.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.pulse import Pulse
from earloop.reading.record import Degree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_STABLE = {1: 0.5, 3: 0.4, 5: 0.4, 2: 0.0, 4: -0.15, 6: -0.1, 7: -0.25}


def head_scores(columns: Columns, pulse: Pulse, phrase: Ints, degrees: tuple[Degree, ...]) -> Floats:
    """How well every tone can stand for the time-span around it; higher wins."""
    bar = pulse.bar
    reach = np.minimum(np.maximum(columns.ioi, 1e-3), 1.5 * bar)
    long = np.log2(reach / bar)
    stable = np.array([_STABLE[d.number] if d.alter == 0 else -0.4 for d in degrees])
    up = np.diff(columns.midi, prepend=columns.midi[0])
    down = np.append(-up[1:], 0)
    high = ((up > 0) & (down > 0)) * 0.2
    repeated = (up == 0) * -0.2
    rest = (columns.gap > 0) * 0.2
    score: Floats = long + 0.9 * pulse.strength + stable + high + repeated + rest
    return score
