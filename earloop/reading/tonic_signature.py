"""What a printed key signature makes likely: strong evidence, never the last word.

Origin of the numbers: how often each mode goes with its signature among 4,119 titled tunes of three fiddle-tune
collections in music21's corpus (83 % major, 12 % minor, 2.4 % Mixolydian, 2.1 % Dorian, below 0.3 % Lydian and
Phrygian), each against how often its third is heard at all. That about one signature in fifty is simply wrong, that a
minor piece may stand under the signature of its parallel major, and what a stated mode is worth are common practice,
no source: notation programs write `major` where nobody chose it, so that word is taken as weaker than `minor`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_WRONG = -6.0
_BY_PLACE = (
    # fifths of the tonic above the signature's major tonic: log-odds as major
    {0: 0.0, 1: -3.6, -1: -5.0},
    # and as minor: Aeolian, Dorian, Phrygian, the parallel minor under a major signature
    {3: 0.0, 2: -1.8, 4: -4.6, 0: -4.0},
)
_STATED: dict[str, tuple[int, int, float]] = {
    # mode: third heard (0 major, 1 minor), fifths above the signature's major tonic, log-odds gained
    "major": (0, 0, 2.0),
    "ionian": (0, 0, 3.5),
    "mixolydian": (0, 1, 6.0),
    "lydian": (0, -1, 7.0),
    "minor": (1, 3, 3.5),
    "aeolian": (1, 3, 3.5),
    "dorian": (1, 2, 5.0),
    "phrygian": (1, 4, 7.5),
}


def signature_scores(fifths: int, mode: str, last: int) -> Floats:
    """Log-odds of each key under a signature of `fifths` sharps and a stated mode (or ``).

    Shape (2, 12), major then minor; tonics in semitones above the pitch class of MIDI key `last`.
    """
    scores = np.full((2, 12), _WRONG)
    for third, row in enumerate(_BY_PLACE):
        for place, value in row.items():
            scores[third, (7 * (fifths + place) - last) % 12] = value
    stated = _STATED.get(mode.lower())
    if stated:
        third, place, gain = stated
        scores[third, (7 * (fifths + place) - last) % 12] += gain
    return scores
