"""Whether a tone that moves by step off the beat lies outside the chord, or a chord of its own goes with it.

The handbooks leave it to the harmony, which a lone line only implies: so several weak signs have their say, and their
sum is a chance. A whole tone and then a semitone down is 5-4-3 in some key, whose 4 often is a dominant's seventh; a
semitone and then a whole tone up is 3-4-5 or 7-1-2, whose middle seldom has a chord of its own. The numbers are a
logistic fit on sopranos of Bach chorales in music21's corpus, those without an analysis, where all four voices had told
what belongs (`python -m tests.bench figure_fit`).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Columns
from earloop.reading.neighbours import Neighbours
from earloop.reading.pulse import Pulse
from earloop.reading.record import Key

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


SAYS = {
    "none": -0.11,
    "implied": 0.15,
    "goes to the home chord": 0.36,
    "second of its phrase": 0.42,
    "whole tone, semitone down": -0.15,
    "semitone, whole tone up": 0.52,
    "after a weaker beat": -0.13,
    "shorter than half a beat": -0.55,
}
"""What each cue adds to the log-odds of lying outside the chord, in the order of `sayings`."""
CUT = 0.45
"""A step that lies outside with this chance is named: three of four were found there, on chorales left out."""


def is_off_beat_step(columns: Columns, pulse: Pulse, near: Neighbours) -> Flags:
    """Tones approached and left by step, between the beats."""
    come = columns.midi - columns.midi[near.before]
    go = columns.midi[near.after] - columns.midi
    return np.asarray(pulse.off_beat & (come * go != 0) & (np.abs(come) <= 2) & (np.abs(go) <= 2))


def sayings(columns: Columns, home: Key, pulse: Pulse, near: Neighbours, implied: Floats) -> Floats:
    """Shape (tones, cues): what each cue has to say; `implied` is the chance by the implied harmony alone."""
    before, after = near.before, near.after
    come, go = columns.midi - columns.midi[before], columns.midi[after] - columns.midi
    triad = (0, 4, 7) if home.mode == "major" else (0, 3, 7)
    sure = np.clip(implied, 0.01, 0.99)
    rows = (
        np.ones(columns.size),
        np.log(sure / (1 - sure)),
        np.isin((columns.midi[after] - home.pc) % 12, triad),
        near.begins[before],
        (come == -2) & (go == -1),
        (come == 1) & (go == 2),
        np.floor(pulse.place / pulse.beat + 1e-3) % 2 == 1,
        columns.ioi < 0.45 * pulse.beat,
    )
    return np.column_stack([np.asarray(row, dtype=np.float64) for row in rows])


def chance_outside(said: Floats) -> Floats:
    """The chance of lying outside the chord, by the fit."""
    return np.asarray(1.0 / (1.0 + np.exp(-said @ np.array(tuple(SAYS.values())))))
