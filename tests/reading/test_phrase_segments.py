"""The sums over all segmentations: exact on small lines, and blocks agree with the whole."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from earloop.line import Line
from earloop.reading import phrase_chances
from earloop.reading.phrase_chances import end_chances
from earloop.reading.phrase_lengths import breath_of
from earloop.reading.phrase_segments import blocks_of, sums_of
from tests.reading.test_phrases import line_of


def test_sums_agree_with_writing_out_every_segmentation() -> None:
    """Nine tones, phrases of 1 to 4: the chance of each end and the total, against plain enumeration."""
    size, reach = 9, 4
    factors = np.random.default_rng(3).uniform(0.1, 3.0, (size, reach))
    total, ends = 0.0, np.zeros(size)
    for count in range(size):
        for inner in combinations(range(size - 1), count):
            borders = [-1, *inner, size - 1]
            spans = list(pairwise(borders))
            if max(b - a for a, b in spans) <= reach:
                product = float(np.prod([factors[b, reach - (b - a)] for a, b in spans]))
                total += product
                ends[list(borders[1:])] += product
    possible = np.arange(size)[:, None] >= np.arange(reach)[::-1]
    blocks = blocks_of(size, reach)
    ahead, back, logs = sums_of((factors * possible)[:, :, None], blocks.entry, blocks.leave)
    assert np.isclose(np.exp(logs[0]), total)
    assert np.allclose(np.exp(ahead[1:, 0] + back[1:, 0] - logs[0]), ends / total)


def long_line(size: int) -> Line:
    numbers = np.random.default_rng(5)
    lengths = numbers.choice([0.25, 0.5, 0.5, 1.0], size).tolist()
    return line_of((60 + np.cumsum(numbers.integers(-2, 3, size)) % 19).tolist(), lengths)


def test_blocks_agree_with_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """1,000 tones in blocks and in one go: the chances differ by less than one in a hundred."""
    line = long_line(1000)
    breath = breath_of(line)
    parts = end_chances(line.columns, 0, breath, np.zeros(1000))
    whole = blocks_of(1000, 10**4)
    assert blocks_of(1000, breath.reach).places.shape[1] > 1
    monkeypatch.setattr(phrase_chances, "blocks_of", lambda size, reach: whole)
    one = end_chances(line.columns, 0, breath, np.zeros(1000))
    assert max(np.abs(a - b).max() for a, b in zip(parts, one, strict=True)) < 0.01


def test_no_underflow_where_everything_is_unlikely() -> None:
    """Factors of e^-25 a phrase over up to 30 phrases: their product is far below the smallest number a float holds."""
    blocks = blocks_of(30, 8)
    weights = np.full((30, 8, 1), np.exp(-25.0)) * (np.arange(30)[:, None] >= np.arange(8)[::-1])[:, :, None]
    ahead, back, logs = sums_of(weights, blocks.entry, blocks.leave)
    assert np.isfinite(logs).all()
    chance = np.exp(ahead[1:, 0] + back[1:, 0] - logs[0])
    assert np.isclose(chance[-1], 1.0)
    assert chance.max() <= 1.0 + 1e-9
