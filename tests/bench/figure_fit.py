"""Fit what each cue says of a step off the beat: does it lie outside its chord?

    python -m tests.bench figure_fit

On the sopranos of the chorales without an analysis, labelled with a chance by all four voices (`figures_limit`), as
strictly as the analysts label. The labelled chorales have no other part in it: they measure what comes out. Prints the
coefficients and, on a fifth of the chorales left out each time, precision and recall at some cuts.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.reading.figures import harmonic_pulse, implied_at
from earloop.reading.neighbours import neighbours
from earloop.reading.off_beat_steps import SAYS, is_off_beat_step, sayings
from earloop.reading.pulse import find_pulse
from earloop.reading.streams import stream_codes
from tests.bench.figures_limit import PARTS, Heard, by_all_voices, labelled, others
from tests.bench.lean_fit import fit

Floats = NDArray[np.float64]
RIDGE = 6.0
CUTS = (0.4, 0.43, 0.45, 0.48, 0.5)


def rows_of(work: Heard) -> tuple[Floats, NDArray[np.bool_]]:
    """What the cues say at each of the chorale's steps, and which of them are off the beat."""
    line, reading = work.line, work.reading
    columns, home = line.columns, reading.home.key
    phrase = np.repeat(np.arange(len(reading.phrases)), [len(span) for span in reading.phrases])
    near = neighbours(phrase, stream_codes(reading.voices), np.full(columns.size, -1, dtype=np.int64))
    implied = implied_at(columns, home, find_pulse(line), near)
    pulse = harmonic_pulse(columns, find_pulse(line))
    said = sayings(columns, home, pulse, near, 1.0 - implied.belongs)
    return said[work.steps.index], is_off_beat_step(columns, pulse, near)[work.steps.index]


def main() -> None:
    known = labelled()
    works = list(others(known))
    rows = [rows_of(work) for work in works]
    said = np.vstack([own for own, _ in rows])
    off = np.concatenate([own for _, own in rows])
    together = np.vstack([work.steps.together for work in works])
    arguable = np.concatenate([work.arguable for work in works])
    true = np.where(arguable, 0.0, 1 / (1 + np.exp(-by_all_voices(together, known))))
    for name, value in zip(SAYS, fit(said[off], true[off], np.ones(off.sum()), RIDGE).tolist(), strict=True):
        print(f'    "{name}": {value:.2f},')
    part = np.concatenate([np.full(len(own), k % PARTS) for k, (own, _) in enumerate(rows)])
    chance = np.zeros(len(said))
    for left in range(PARTS):
        train, test = off & (part != left), off & (part == left)
        at = fit(said[train], true[train], np.ones(train.sum()), RIDGE)
        chance[test] = 1 / (1 + np.exp(-said[test] @ at))
    for cut in CUTS:
        found = chance > cut
        print(f"cut {cut}: precision {true[found].mean():.2f}, recall {true[found].sum() / true.sum():.2f}, left out")


if __name__ == "__main__":
    main()
