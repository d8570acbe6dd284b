"""How much each cue of a gesture or phrase speaks for a local tonic, by degree: `tonic_profiles` with fewer cues.

Fitted like those and on the same tunes, without what only a whole line's opening and close say: with all cues the keys
of passages agreed less with the chorales' analyses (.66 of the tones against .68).
"""

from __future__ import annotations

import numpy as np

from earloop.reading.tonic_evidence import PLAIN

_MAJOR: dict[str, tuple[float, ...]] = {
    "time": (4.98, 0.01, -0.67, -0.26, 3.59, -3.85, -1.66, 4.46, -0.21, -3.14, 0.85, -3.95),
    "heard": (1.64, -3.36, 1.49, -4.48, 1.95, 2.19, -2.57, 2.37, -3.16, 1.40, -2.85, 0.69),
    "last": (2.25, -0.07, 0.36, -0.50, 0.97, -0.24, -1.49, 1.14, -0.32, -0.38, -0.92, -0.64),
}
_MINOR: dict[str, tuple[float, ...]] = {
    "time": (5.00, -0.16, -0.71, -1.24, -1.35, -0.17, -0.32, 5.97, -2.57, -2.37, -1.87, -0.39),
    "heard": (2.16, -1.94, 0.50, 2.69, -2.72, 2.64, -2.26, 2.73, 0.31, -0.75, 1.62, -0.29),
    "last": (2.57, -0.99, 0.77, -0.76, -0.56, -0.20, -0.51, 0.88, -1.07, -0.69, 0.20, 0.19),
}
_BOTH: dict[str, tuple[float, ...]] = {
    "before_last": (-0.01, 0.35, 0.12, -0.13, 0.00, -0.08, 0.09, 0.03, -0.13, -0.13, -0.21, 0.09),
    "first": (1.05, -1.07, 0.24, -0.10, 1.45, -0.53, -1.11, 1.22, -1.13, 0.31, -0.32, 0.00),
    "second": (0.53, 0.07, 0.01, 0.52, 0.37, -0.09, -1.09, 0.22, 0.15, -0.23, 0.07, -0.53),
    "lowest": (0.31, -0.85, 0.23, -0.81, 0.20, -0.69, 0.51, 0.31, 0.10, -0.12, 0.37, 0.42),
    "fourth": (4.72, -0.11, -0.02, 1.62, -1.62, -5.20, -0.01, 2.45, 0.02, -0.93, -1.02, 0.09),
    "step_down": (2.75, 1.11, -0.43, 0.60, -4.16, -1.13, 0.14, 2.09, 0.74, -0.32, -1.23, -0.16),
    "leading": (2.62, -0.94, -1.34, 0.01, 1.72, -3.57, -0.58, 2.53, -1.32, 1.74, -0.10, -0.76),
}
MINOR_AGAINST_MAJOR = -2.08
"""What a minor key starts with."""

PROFILES = np.array([[(own | _BOTH)[cue] for cue in PLAIN] for own in (_MAJOR, _MINOR)])
"""Shape (2, 10, 12): mode, cue, degree."""
