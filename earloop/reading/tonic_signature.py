"""What a printed key signature makes likely: strong evidence, never the last word.

Origin of the numbers: the cost of another signature was fitted by maximum conditional likelihood on the tunes named in
`tonic_profiles`, with three signatures in a hundred made wrong. The costs of modes were then set by hand on fiddle
tunes, far below the fitted ones: the tones have already said how rare a mode is, and fitted costs lost the modal tunes.
What a stated mode is worth, and that a minor piece may stand under its parallel major's signature, are common practice,
no source: notation programs write `major` where nobody chose it, so that word is taken as weaker than `minor`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_WRONG = -3.6
_BY_PLACE = (
    # fifths of the tonic above the signature's major tonic: log-odds as major (itself, Mixolydian, Lydian)
    {0: 0.0, 1: -0.5, -1: -2.0},
    # and as minor: Aeolian, Dorian, Phrygian, the parallel minor
    {3: 0.0, 2: -0.2, 4: -2.2, 0: -4.2},
)
_STATED: dict[str, tuple[int, int, float]] = {
    # mode: third heard (0 major, 1 minor), fifths above the signature's major tonic, log-odds gained
    "major": (0, 0, 2.0),
    "ionian": (0, 0, 3.5),
    "mixolydian": (0, 1, 4.0),
    "lydian": (0, -1, 5.5),
    "minor": (1, 3, 4.0),
    "aeolian": (1, 3, 4.0),
    "dorian": (1, 2, 4.0),
    "phrygian": (1, 4, 6.0),
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
