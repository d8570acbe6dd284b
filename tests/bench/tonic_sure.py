"""Whether the home key is as sure as it says, and how far minor stands behind major.

    python -m tests.bench tonic_sure             lines without a key signature
    python -m tests.bench tonic_sure signature   the same lines under their tunes' signatures, no mode stated
    python -m tests.bench tonic_sure mode        under the signature of the tonic's major or minor scale, stated so

On the tunes the profiles were fitted on, and on the half of the fiddle tunes that they were not; `tonic_fit` prints
the same with every fifth of the tunes left out of its fit.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from earloop.reading.tonic import key_chances
from tests.bench.tonic_tunes import Excerpt, excerpts

Floats = NDArray[np.float64]
BANDS = (0.0, 0.4, 0.6, 0.75, 0.85, 0.95, 0.99, 1.01)
ALONE = ("whole", "first", "middle", "last")
GROUPS = {
    ("whole",): "whole tunes",
    ("first", "middle", "last"): "lone phrases",
    ("middle",): "middle ones",
    ("last",): "last ones",
}
GAINS = (0.0, 0.5, 0.85, 1.5, 2.0, 3.0)
"""What minor keys are given in log odds at the decision alone; .85 makes both modes as likely beforehand."""
FINE = np.arange(0.0, 4.01, 0.05)


class Answer(NamedTuple):
    """What was said of an excerpt; `chances` of the keys have shape (2, 12), counted from the last tone."""

    part: Excerpt
    chances: Floats
    right: bool
    second: bool
    margin: float
    sure: float


def told(part: Excerpt, chances: Floats) -> Answer:
    """What these chances of the 24 keys say."""
    chances = chances.reshape(2, 12)
    by_class = chances.sum(axis=0)
    order = np.argsort(-by_class, kind="stable")
    first, second = (int(order[k]) == home(part) for k in (0, 1))
    best, next_best = by_class[order[:2]]
    return Answer(part, chances, first, second, float(best - next_best), float(best))


def home(part: Excerpt) -> int:
    """The tonic in semitones above the last tone."""
    return (part.tonic - int(part.line.columns.midi[-1])) % 12


def show(answers: Iterable[Answer]) -> None:
    """Right, in the first two, major and minor, the best quarter of margins; said and right by bands; the two modes."""
    answers = list(answers)
    for scope in ALONE:
        own = [a for a in answers if a.part.scope == scope]
        modes = [share([a for a in own if a.part.minor == minor]) for minor in (False, True)]
        best = sorted(own, key=lambda a: -a.margin)[: len(own) // 4]
        two = sum(a.right or a.second for a in own) / max(1, len(own))
        print(
            f"  {scope:6} {len(own):5}: right {share(own):.3f}, in two {two:.3f}, major {modes[0]:.3f}, "
            f"minor {modes[1]:.3f}, best quarter of margins {share(best):.3f}"
        )
    for scopes, words in GROUPS.items():
        print(f"  {words}, said → right (of so many):", end="")
        for low, high in pairwise(BANDS):
            own = [a for a in answers if a.part.scope in scopes and low <= a.sure < high]
            if own:
                said = sum(a.sure for a in own) / len(own)
                print(f"  {said:.2f} → {share(own):.2f} ({len(own)})", end="")
        print()
    by_mode(answers)


def by_mode(answers: list[Answer]) -> None:
    """All, major and minor where minor is given some log odds at the decision; where both are right equally often."""
    print("  what minor is given in log odds: right of all, of major, of minor")
    rows = {scope: shares(scope, answers, np.concatenate([GAINS, FINE])) for scope in ALONE}
    for k, gain in enumerate(GAINS):
        print(f"  {gain:5.2f}", *(f"  {scope} " + " ".join(f"{v:.3f}" for v in rows[scope][k]) for scope in ALONE))
    for scope in ALONE:
        _, major, minor = rows[scope][0]
        fine = rows[scope][len(GAINS) :]
        even, best = int(np.argmax(fine[:, 2] >= fine[:, 1])), int(np.argmax(fine[:, 1:].mean(axis=1)))
        print(
            f"  {scope}, as many in minor as in major: {(major + minor) / 2:.3f} of them right as it stands", end=", "
        )
        print(f"{fine[best, 1:].mean():.3f} at most (given {FINE[best]:.2f})", end="; ")
        if fine[even, 2] >= fine[even, 1]:
            every, *alike = fine[even]
            print(f"equally good given {FINE[even]:.2f}, {alike[0]:.3f} and {alike[1]:.3f} (all {every:.3f})")
        else:
            print("never equally good")


def shares(scope: str, answers: list[Answer], gains: Floats) -> Floats:
    """Right of all, of major, of minor for each gain: shape (gains, 3)."""
    own = [a for a in answers if a.part.scope == scope]
    chances = np.array([a.chances for a in own])
    homes, minor = np.array([home(a.part) for a in own]), np.array([a.part.minor for a in own])
    found = []
    for gain in gains:
        right = (chances[:, 0] + chances[:, 1] * np.exp(gain)).argmax(axis=1) == homes
        found.append((right.mean(), right[~minor].mean(), right[minor].mean()))
    return np.array(found)


def share(answers: list[Answer]) -> float:
    """How many of the answers are right."""
    return sum(a.right for a in answers) / max(1, len(answers))


def answer(part: Excerpt, page: str) -> Answer:
    """The home key of an excerpt as a score would get it that has a signature, also a mode, or none."""
    if page == "mode":
        own = 7 * part.tonic - (3 if part.minor else 0)
        stated = replace(part.line, fifths=(own + 6) % 12 - 6, mode="minor" if part.minor else "major")
        return told(part, key_chances(stated))
    line = replace(part.line, fifths=part.fifths) if page == "signature" else part.line
    return told(part, key_chances(line))


def main() -> None:
    parts, page = excerpts(), sys.argv[1] if len(sys.argv) > 1 else ""
    for words, own in (
        ("folk songs (fitted on)", [p for p in parts if p.source == "essen"]),
        ("fiddle tunes, the half never fitted", [p for p in parts if not p.fitted]),
    ):
        print(words)
        show(answer(part, page) for part in own if part.scope in ALONE)


if __name__ == "__main__":
    main()
