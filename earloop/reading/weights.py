"""The tree of the line: which tone each tone decorates, and the weights that follow from it."""

from __future__ import annotations

import numpy as np

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import DEEPEST, Degree, Figure, Tonic, Voice, Weights


def find_weights(
    line: Line,
    home: Tonic,
    phrases: tuple[Span, ...],
    degrees: tuple[Degree, ...],
    voices: tuple[Voice, ...],
    decided: Decisions = NONE_DECIDED,
) -> Weights:
    """The tree over the whole line, its weights, levels and figures."""
    size = len(line)
    raw = line.columns.ioi + np.linspace(0, 1e-6, size)
    order = np.argsort(np.argsort(raw)) / max(1, size - 1)
    root = int(np.argmax(order))
    parent = [root] * size
    parent[root] = -1
    level = [min(DEEPEST, int(x * (DEEPEST + 0.999))) for x in order]
    figure: list[Figure] = ["structural" if x >= 2 else "passing" for x in level]
    return Weights(tuple(parent), tuple(map(float, order)), tuple(level), tuple(figure), (0.5,) * size)
