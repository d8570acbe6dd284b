"""How much each cue speaks for a tonic, by the degree it falls on, in nats; twelve numbers from the tonic upwards.

Origin: fitted by maximum conditional likelihood over the 24 keys (ridge penalty 1) on titled tunes in music21's
corpus: the development half of the Essen folk songs without the Chinese ones (3,495 tunes: whole and lone phrases),
and half of three fiddle-tune collections at a quarter to half the weight, minor tunes counting 1.6 times.
`python -m tests.bench tonic_fit profiles` does it again. No melody of those collections is kept here. Time, presence
and the last tone differ by mode; the other cues speak alike in both.
"""

from __future__ import annotations

import numpy as np

from earloop.reading.tonic_evidence import CUES

MAJOR: dict[str, tuple[float, ...]] = {
    "time": (0.54, 0.04, -0.98, -0.31, 2.15, -0.16, -0.41, 1.52, -0.13, -0.43, 1.29, -1.28),
    "heard": (1.38, -2.91, 1.37, -4.64, 1.36, 2.31, -2.08, 1.81, -3.05, 1.55, -2.79, 0.90),
    "last": (1.65, 0.59, -0.26, -0.27, -0.97, 1.17, 0.08, -0.62, 0.27, -0.10, 0.01, 0.27),
}
MINOR: dict[str, tuple[float, ...]] = {
    "time": (1.53, 0.12, -2.26, 0.74, -1.76, 1.27, -0.26, 2.87, -1.10, -1.71, -1.45, 0.17),
    "heard": (1.78, -1.53, 0.30, 2.55, -3.17, 2.81, -1.88, 2.24, 0.57, -0.45, 1.50, 0.07),
    "last": (1.77, -0.28, 0.04, -0.75, -1.76, 1.06, -0.26, -1.12, -0.53, -0.77, 0.30, 0.46),
}
BOTH: dict[str, tuple[float, ...]] = {
    "ending": (0.37, -0.68, 0.55, -0.39, 1.21, -0.83, -0.47, 1.05, -0.74, 0.18, -0.31, 0.06),
    "held_ending": (0.49, -0.55, 0.07, -0.10, 0.58, -0.14, -0.21, 0.12, 0.04, 0.25, -0.38, -0.15),
    "low_ending": (-0.14, 0.23, -0.26, 1.03, -0.29, 0.09, -0.68, -0.34, 0.96, -0.25, 0.65, -1.01),
    "high_ending": (-0.68, 0.14, -0.37, 0.50, -0.29, 0.28, 0.14, 0.09, 0.15, -0.70, 0.02, 0.74),
    "before_last": (0.05, 0.07, 0.19, -0.24, 0.09, -0.16, 0.02, 0.24, -0.01, 0.04, -0.33, 0.05),
    "first": (0.79, -1.17, 0.21, -0.23, 1.31, -0.51, -0.58, 0.80, -0.96, 0.27, -0.12, 0.20),
    "second": (0.03, 0.14, -0.07, 0.40, 0.29, 0.08, -0.82, 0.00, 0.34, -0.08, 0.06, -0.37),
    "opening_fourth": (1.23, -0.05, -0.19, 0.78, -0.47, -0.81, 0.00, 0.06, 0.63, -0.57, -0.58, -0.03),
    "lowest": (0.25, -0.75, 0.26, -1.14, 0.19, -0.67, 0.66, 0.39, 0.00, -0.05, 0.06, 0.79),
    "fourth": (1.57, -0.08, -0.24, 1.10, -1.58, -2.10, -0.01, 1.72, 0.68, 0.37, -1.61, 0.17),
    "fifth": (-1.73, -0.02, 1.49, 0.02, -2.58, -0.10, 0.42, 3.42, -0.04, 0.51, -0.23, -1.18),
    "step_down": (2.04, 0.42, 0.17, 0.23, -3.07, -0.40, 0.16, 2.13, -0.10, -0.63, -0.96, -0.01),
    "leading": (1.68, -0.51, -1.41, 0.29, 1.43, -2.74, -0.49, 1.84, -0.20, 0.95, -0.21, -0.63),
    "leapt": (0.23, -0.62, -0.07, -0.01, 0.58, 0.19, -0.40, 1.10, -0.87, -0.68, 0.31, 0.24),
    "long_after_short": (0.53, -0.36, 0.00, 0.75, -0.11, 0.38, -1.15, 0.43, 0.04, -0.40, 0.78, -0.89),
    "triad": (1.05, 0.24, 0.60, -0.64, 0.42, -1.46, -0.03, 0.12, -1.40, 0.29, 0.72, 0.11),
    "turning": (0.24, -0.89, -0.41, 0.43, -0.07, -0.33, 0.64, -0.36, 1.03, -0.26, 1.11, -1.13),
    "early": (1.56, -0.51, 0.24, 0.16, 1.21, -0.41, -1.06, 1.02, -0.06, 0.10, -1.31, -0.96),
    "held": (0.83, -0.56, 1.04, -0.10, -0.23, -0.28, -0.67, 0.30, -1.08, -0.38, 0.60, 0.53),
}
MINOR_AGAINST_MAJOR = -1.68
"""What a minor key starts with: most of those tunes are in major."""

PROFILES = np.array([[(own | BOTH).get(cue, (0.0,) * 12) for cue in CUES] for own in (MAJOR, MINOR)])
"""Shape (2, 22, 12): mode, cue, degree."""
