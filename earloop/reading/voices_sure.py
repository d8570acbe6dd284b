"""How sure a proposed line is: the model's posterior, brought to what was measured."""

from __future__ import annotations

import numpy as np

from earloop.reading.voices_cues import Flags, Floats

# The model's chance and the share found right, for tones read in one of several lines and for single ones.
# Origin: isotonic fit, thinned by hand, on left-out pieces of the development half (two of five parts, seeds 3 to 5;
# single voices as they stand). It holds over both parts together; each part alone strays, since one had far more
# lines that cross, and a crossing exchanges the labels of all that follows.
_SPLIT = (
    (0.5, 0.617, 0.766, 0.83, 0.9, 0.93, 0.964, 0.989, 0.9945, 0.998, 0.9992, 1.0),
    (0.575, 0.66, 0.8, 0.86, 0.897, 0.91, 0.938, 0.945, 0.968, 0.98, 0.994, 0.999),
)
_SINGLE = ((0.5, 0.79, 0.97, 0.995, 0.998, 1.0), (0.5, 0.64, 0.92, 0.93, 0.98, 0.998))


def calibrated(chance: Floats, split: Flags) -> Floats:
    """The chance that each label is right, from the model's own."""
    sure: Floats = np.where(split, np.interp(chance, *_SPLIT), np.interp(chance, *_SINGLE))
    return sure
