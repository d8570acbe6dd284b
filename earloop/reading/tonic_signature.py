"""What a printed key signature makes likely: strong evidence, never the last word.

In a short line the signature tells what few tones can't, and there a rare mode is rare. A long line has said itself
which scale and mode it is in: the unlikely places under a signature cost less, and a wrong signature does less harm.

Origin of the numbers: costs in short lines by maximum conditional likelihood, beside what the tones say by a fit
without the tune, on the tunes named in `tonic_profiles`, three signatures in a hundred made wrong (`python -m
tests.bench tonic_fit signature`). Those in long lines are set by hand, between the fitted ones, by which a signature
hardly matters beside so many tones, and what keeps to it in pieces of hundreds of tones. What a stated mode is worth,
and that a minor piece may stand under its parallel major's signature, are common practice, no source: notation
programs write `major` where nobody chose it, so that word is taken as weaker than `minor`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HALF = 25.0
"""Tones after which costs are half way from those of short lines to those of long ones."""
WRONG = (-4.3, -2.0)
BY_PLACE: tuple[dict[int, tuple[float, float]], ...] = (
    # fifths of the tonic above the signature's major tonic: log-odds in a short and in a long line, as major (itself,
    # Mixolydian, Lydian)
    {0: (0.0, 0.0), 1: (-4.1, -0.5), -1: (-3.8, -1.6)},
    # and as minor: Aeolian, Dorian, Phrygian, the parallel minor
    {3: (-0.2, 0.0), 2: (-1.0, -0.4), 4: (-2.0, -0.5), 0: (-3.0, -1.5)},
)
_STATED: dict[str, tuple[int, int, float]] = {
    # mode: third heard (0 major, 1 minor), fifths above the signature's major tonic, log-odds
    "major": (0, 0, 2.0),
    "ionian": (0, 0, 3.5),
    "mixolydian": (0, 1, 3.5),
    "lydian": (0, -1, 3.5),
    "minor": (1, 3, 4.0),
    "aeolian": (1, 3, 4.0),
    "dorian": (1, 2, 3.8),
    "phrygian": (1, 4, 3.8),
}
STATED_MINOR = 2.0
"""What every other minor key gains where `minor` is stated: it names a third, and a modal scale may be meant."""


def signature_scores(fifths: int, mode: str, last: int, size: int) -> Floats:
    """Log-odds of each key under a signature of `fifths` sharps and a stated mode (or ``), in a line of `size` tones.

    Shape (2, 12), major then minor; tonics in semitones above the pitch class of MIDI key `last`.
    """
    short = shortness(size)
    scores = np.full((2, 12), _between(WRONG, short))
    for third, row in enumerate(BY_PLACE):
        for place, costs in row.items():
            scores[third, (7 * (fifths + place) - last) % 12] = _between(costs, short)
    stated = _STATED.get(mode.lower())
    if stated:
        third, place, value = stated
        scores[third] += STATED_MINOR * (mode.lower() == "minor")
        scores[third, (7 * (fifths + place) - last) % 12] = value
    return scores


def shortness(size: int) -> float:
    """1 for a line of hardly any tones, 0 for a very long one."""
    return 1.0 / (1.0 + (size / HALF) ** 2)


def _between(costs: tuple[float, float], short: float) -> float:
    return costs[0] * short + costs[1] * (1.0 - short)
