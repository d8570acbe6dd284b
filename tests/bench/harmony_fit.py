"""Fit what each cue says of a tone that other parts sound with: does it lie outside their chord?

    python -m tests.bench harmony_fit

On all four voices of the development half of the labelled chorales (`tests/outside/chorale_parts.py`), the truth being
the analysts' chords. Prints the coefficients, precision and recall with each chorale left out at some cuts, and what
the readings then name in both halves, kind by kind, against the analysts' chords and the handbooks' table. Two minutes.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from chorale_figures import counts
from chorale_parts import DECORATING, Part, parts

from earloop.reading import read
from earloop.reading.against_harmony import SAYS, harmony_of, sayings
from earloop.reading.figures import harmonic_pulse
from earloop.reading.harmony_heard import harmony_heard
from earloop.reading.neighbours import neighbours
from earloop.reading.pulse import find_pulse
from earloop.reading.streams import stream_codes
from tests.bench.lean_fit import fit

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
RIDGE = 3.0
CUTS = (0.4, 0.45, 0.5, 0.55, 0.6)


def rows_of(part: Part) -> tuple[Floats, Floats, Flags]:
    """What the cues say at each tone that sounds with others, whether it lies outside, and whether it goes by step."""
    line, reading = part.line, read(part.line)
    phrase = np.repeat(np.arange(len(reading.phrases)), [len(span) for span in reading.phrases])
    near = neighbours(phrase, stream_codes(reading.voices), np.full(len(line), -1, dtype=np.int64))
    heard = harmony_heard(line)
    assert heard is not None
    said = sayings(line.columns, harmonic_pulse(line.columns, find_pulse(line)), near, heard, harmony_of(heard))
    outside, moves = part.outside, np.abs(np.diff(line.columns.height)) == 1
    steps = np.append(False, moves) & np.append(moves, False)
    kept = heard.any & np.isfinite(outside)
    return said[kept], outside[kept], steps[kept]


def shares(found: Flags, true: Flags) -> str:
    right = (found & true).sum()
    return f"{right / max(1, found.sum()):.2f} / {right / max(1, true.sum()):.2f} of {true.sum()}"


def told(name: str, works: list[Part], alone: bool = False, metered: bool = True) -> None:
    """Passing and neighbor tones strictly as labelled, as read from the score."""
    lines = [replace(p.line, others=() if alone else p.line.others) for p in works]
    lines = [line if metered else replace(line, meters=()) for line in lines]
    right, wrong, missed = counts([read(line).weights.figure for line in lines], [p.truth for p in works], strict=True)
    print(f"    {name:32} {right / (right + wrong):.2f} / {right / (right + missed):.2f} of {right + missed}")


def kinds(works: Iterable[Part]) -> None:
    """Each kind: how many are named, how many there are, how many are right."""
    pairs = Counter(
        pair for p in works for pair in zip(read(p.line).weights.figure, p.handbook, strict=True) if "" not in pair
    )
    for kind in DECORATING:
        named = sum(n for (ours, _), n in pairs.items() if ours == kind)
        there = sum(n for (_, theirs), n in pairs.items() if theirs == kind)
        print(f"    {kind:14} {named:4} named, {there:4} there, {pairs[kind, kind]:4} right")


def main() -> None:
    works = parts("dev")
    said, outside, steps = (np.concatenate(rows) for rows in zip(*map(rows_of, works), strict=True))
    sizes = [len(rows_of(part)[1]) for part in works]
    names = sorted({part.chorale for part in works})
    group = np.repeat([names.index(part.chorale) for part in works], sizes)
    soprano = np.repeat([part.voice == "Soprano" for part in works], sizes)
    for name, value in zip(SAYS, fit(said, outside, np.ones(len(outside)), RIDGE).tolist(), strict=True):
        print(f'    "{name}": {value:.2f},')
    chance = np.zeros(len(outside))
    for left in range(len(names)):
        train = group != left
        at = fit(said[train], outside[train], np.ones(train.sum()), RIDGE)
        chance[~train] = 1 / (1 + np.exp(-said[~train] @ at))
    true = outside > 0.5
    print("precision / recall, each chorale left out: all tones outside; soprano's steps; the other voices' steps")
    for cut in CUTS:
        found = chance > cut
        own = [(found & where, true & where) for where in (true | True, steps & soprano, steps & ~soprano)]
        print(f"    cut {cut}:", "; ".join(shares(*pair) for pair in own))
    for half in ("dev", "held"):
        top = [part for part in parts(half) if part.voice == "Soprano"]
        low = [part for part in parts(half) if part.voice != "Soprano"]
        print(f"{half}: passing and neighbor tones as read, precision / recall strictly as labelled")
        told("sopranos alone", top, alone=True)
        told("sopranos with the other parts", top)
        told("the same, no meter", top, metered=False)
        told("lower voices with the others", low)
        kinds(parts(half))


if __name__ == "__main__":
    main()
