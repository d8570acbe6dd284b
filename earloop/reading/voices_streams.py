"""How many lines are heard, locally: the evidence for two lines against one, tone by tone, then smoothed.

The drop in step size after splitting is the main cue (steps bind and leaps split: Bregman 1990, van Noorden 1975).
Each tone adds its weight of evidence; a line may split in one passage and be single in the next, at a price.
"""

from __future__ import annotations

from math import exp

import numpy as np

from earloop.reading import voices_stream_tables as tables
from earloop.reading.voices_cues import Floats, Ints

WIDEST = 12


def two_line_cues(midi: Ints, upper: Floats) -> Floats:
    """Cues [N, C] at each tone, from pitches and the chance of the upper line given two lines."""
    size = len(midi)
    label = (upper < 0.5).astype(np.int64)
    whole = np.minimum(np.abs(np.diff(midi, prepend=midi[0])), WIDEST)
    own, other = _last_of_lines(midi, label)
    inside = np.minimum(np.abs(midi - own), WIDEST)
    side = np.where(label == 0, 1, -1)
    crossed = (midi - other) * side < 0
    change = np.diff(label, prepend=label[:1]) != 0
    leap = np.diff(midi, prepend=midi[0])
    onward = np.append(leap[1:], 0) if size > 1 else leap * 0
    zigzag = (np.abs(leap) >= 3) & (np.abs(onward) >= 3) & (leap * onward < 0)
    return np.stack(
        [
            np.ones(size),
            whole / WIDEST,
            inside / WIDEST,
            np.abs(2 * upper - 1),
            change,
            crossed,
            (whole > 0) & (whole <= 2),
            (inside > 0) & (inside <= 2),
            whole == 0,
            zigzag,
            (inside <= 2) & (whole > 2),
            (whole <= 2) & change,
        ],
        axis=1,
    ).astype(np.float64)


def two_line_chances(midi: Ints, upper: Floats, forced: Floats) -> Floats:
    """The chance that two lines are heard at each tone. `forced` [N] adds evidence of its own (from decisions)."""
    evidence = two_line_cues(midi, upper) @ np.array(tables.EVIDENCE)
    return _smoothed(np.clip(evidence, -tables.MOST, tables.MOST) + forced)


def _last_of_lines(midi: Ints, label: Ints) -> tuple[Ints, Ints]:
    """The last earlier pitch of the tone's own line and of the other one (its own pitch where there is none)."""
    size, places = len(midi), np.arange(len(midi))
    last = []
    for line in (0, 1):
        seen = np.maximum.accumulate(np.where(label == line, places, -1))
        last.append(np.append([-1], seen[:-1])[:size])
    own, other = np.where(label == 0, last[0], last[1]), np.where(label == 0, last[1], last[0])
    return np.where(own >= 0, midi[own], midi), np.where(other >= 0, midi[other], midi)


def _smoothed(evidence: Floats) -> Floats:
    """Posterior of a two-state chain that seldom changes: odds passed forward and back."""
    stay, factors = exp(tables.STAY), np.exp(evidence).tolist()
    ahead, back = [1.0] * len(factors), [1.0] * len(factors)
    odds = exp(tables.PRIOR)
    for i, factor in enumerate(factors):
        # Odds of r to one are (r·s + 1) to (r + s) one step on, in a chain that stays with odds s: never beyond s.
        ahead[i] = odds = ((odds * stay + 1.0) / (odds + stay) if i else odds) * factor
    odds = 1.0
    for i in range(len(factors) - 2, -1, -1):
        odds *= factors[i + 1]
        back[i] = odds = (odds * stay + 1.0) / (odds + stay)
    total = np.clip(np.log(ahead) + np.log(back), -40.0, 40.0)
    chance: Floats = 1.0 / (1.0 + np.exp(-total))
    return chance
