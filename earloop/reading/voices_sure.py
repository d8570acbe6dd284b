"""How sure a proposed line is: the model's posterior, brought to what was measured."""

from __future__ import annotations

import numpy as np

from earloop.reading.voices_cues import Flags, Floats

_SAID = (0.0, 1.0)
_TRUE = (0.0, 1.0)


def calibrated(chance: Floats, split: Flags) -> Floats:
    """The chance that each label is right, from the model's own."""
    sure: Floats = np.interp(chance, _SAID, _TRUE)
    return sure
