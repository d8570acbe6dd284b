"""Whether the home key is as sure as it says: of the proposals said to be so sure, how many are right.

    python -m tests.bench tonic_sure

On the tunes the profiles were fitted on, and on the half of the fiddle tunes that they were not; `tonic_fit` prints
the same with every fifth of the tunes left out of its fit.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

from earloop.reading.tonic import find_tonic
from tests.bench.tonic_tunes import Excerpt, excerpts

BANDS = (0.0, 0.4, 0.6, 0.75, 0.85, 0.95, 0.99, 1.01)

GROUPS = {
    ("whole",): "whole tunes",
    ("first", "middle", "last"): "lone phrases",
    ("middle",): "middle ones",
    ("last",): "last ones",
}


class Answer(NamedTuple):
    """What was said of an excerpt."""

    part: Excerpt
    right: bool
    second: bool
    margin: float
    sure: float


def show(answers: Iterable[Answer]) -> None:
    """Right, in the first two, major and minor, the best quarter of margins; then said and right by bands."""
    answers = list(answers)
    for scope in ("whole", "first", "middle", "last"):
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


def share(answers: list[Answer]) -> float:
    """How many of the answers are right."""
    return sum(a.right for a in answers) / max(1, len(answers))


def answer(part: Excerpt) -> Answer:
    """The home key of an excerpt as a score would get it that has no signature."""
    found = find_tonic(part.line)
    return Answer(part, found.ranked[0] == part.tonic, found.ranked[1] == part.tonic, found.margin, found.sure)


def main() -> None:
    parts = excerpts()
    for words, own in (
        ("folk songs (fitted on)", [p for p in parts if p.source == "essen"]),
        ("fiddle tunes, the half never fitted", [p for p in parts if not p.fitted]),
    ):
        print(words)
        show(answer(part) for part in own if part.scope not in ("other", "half"))


if __name__ == "__main__":
    main()
