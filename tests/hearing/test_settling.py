"""Melodies of many repeated tones, sung a little out of time: which sung tone answers which."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from earloop.hearing.settling import Settled, Take, TimeMeant, settled

MOST_UNTOLD = 0.03
"""The checker's aim for planted faults."""
SIZE = 24
LINES = 100


def melody(rng: np.random.Generator) -> tuple[list[int], list[float]]:
    """Keys, half of them as the one before, and lengths in quarters, as in songs that say a syllable a tone."""
    steps = [int(rng.choice((-4, -2, -1, 1, 2, 5))) * int(rng.random() < 0.5) for _ in range(SIZE)]
    return [60 + (key - 60) % 12 for key in np.cumsum([60, *steps[1:]]).tolist()], rng.choice(
        (1.0, 1.0, 2.0), SIZE
    ).tolist()


def heard(meant: list[int], keys: list[int], quarters: list[float], rng: np.random.Generator) -> Settled:
    """Each tone some 20 ms off its moment, as a trained ensemble is (30 to 50 ms apart, Rasch 1979, from memory), at a
    pace that gives way by a tenth."""
    lengths = np.array(quarters)
    onsets = np.cumsum(lengths) - lengths
    pace = 0.45 * (1 + 0.1 * np.sin(onsets / 5 + rng.uniform(0, 6)))
    starts = np.cumsum(pace * lengths) - pace * lengths + rng.normal(0, 0.02, len(keys))
    time = TimeMeant(np.stack([onsets, onsets + lengths / 2]), float(lengths.sum()), np.zeros(0))
    return settled(np.array(meant, dtype=float), Take(np.array(keys, dtype=float), starts, 0.9 * pace * lengths), time)


def test_two_tones_swapped_stay_in_their_places_where_the_pitch_returns() -> None:
    untold = planted = 0
    for seed in range(LINES):
        rng = np.random.default_rng(seed)
        meant, quarters = melody(rng)
        at = next(k for k, (a, b) in enumerate(pairwise(meant)) if k > 5 and a != b and meant[k - 1] == a)
        keys = list(meant)
        keys[at], keys[at + 1] = keys[at + 1], keys[at]
        answers = heard(meant, keys, quarters, rng).found.answers
        planted += 1
        untold += not any(answers[k] is None or keys[answers[k][0]] != meant[k] for k in (at, at + 1))
    assert planted == LINES
    assert untold <= MOST_UNTOLD * planted


def test_what_is_sung_right_is_answered_tone_by_tone() -> None:
    for seed in range(LINES):
        rng = np.random.default_rng(seed)
        meant, quarters = melody(rng)
        assert heard(meant, meant, quarters, rng).found.answers == tuple((k, k) for k in range(SIZE))
