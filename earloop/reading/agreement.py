"""How far two readings of one line agree, as figures with their numbers.

Where every tone has an answer (line, degree), the share is of all tones. Where a reading picks some tones or pairs
(skeleton, ends, leans, links), it is of those that either picks, the rest being agreement on nothing: Jaccard's
coefficient of community (Jaccard 1912, New Phytologist 11).
"""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass

from earloop.reading.differences import inner_ends, local_key_of
from earloop.reading.record import Reading


@dataclass(frozen=True, slots=True)
class Agreement:
    """`equal` of `of` are the same in both; `of` is 0 where neither reading has any."""

    name: str
    equal: int
    of: int

    @property
    def share(self) -> float | None:
        """0..1; None where there is nothing to agree on."""
        return self.equal / self.of if self.of else None

    @property
    def numbers(self) -> str:
        """`41 of 48`."""
        return f"{self.equal} of {self.of}" if self.of else "none in either"


def agreement(mine: Reading, other: Reading, depth: int) -> tuple[Agreement, ...]:
    """The figures, the skeleton's at this depth. Raises ValueError where the lines are not the same length."""
    return (of_skeletons(mine, other, depth), *of_the_rest(mine, other))


def of_skeletons(mine: Reading, other: Reading, depth: int) -> Agreement:
    """How far the two skeletons of this depth are the same tones."""
    return _shared(f"skeleton, depth {depth}", set(mine.skeleton(depth)), set(other.skeleton(depth)))


def of_the_rest(mine: Reading, other: Reading) -> tuple[Agreement, ...]:
    """All figures that are the same at every depth. Raises ValueError where the lines are not the same length."""
    if len(mine) != len(other):
        raise ValueError("two readings can be compared only on one line")
    degrees = zip(mine.degrees, other.degrees, strict=True)
    # A degree in another key is another degree, even where it has the same number.
    here = zip(local_key_of(mine), mine.local_degrees, local_key_of(other), other.local_degrees, strict=True)
    return (
        Agreement("lines", sum(a == b for a, b in zip(mine.voices, other.voices, strict=True)), len(mine)),
        Agreement("degrees at home", sum(a == b for a, b in degrees), len(mine)),
        Agreement("degrees here", sum(a == c and b == d for a, b, c, d in here), len(mine)),
        _shared("phrase ends", inner_ends(mine, mine.phrases), inner_ends(other, other.phrases)),
        _shared("gesture ends", inner_ends(mine, mine.gestures), inner_ends(other, other.gestures)),
        _shared("leans", _leans(mine), _leans(other)),
        _shared("links", {(x.first, x.second) for x in mine.links}, {(x.first, x.second) for x in other.links}),
        _shared("bridges", {x.before for x in mine.bridges}, {x.before for x in other.bridges}),
    )


def _leans(reading: Reading) -> set[tuple[int, int]]:
    return {(x.lean, x.release) for x in reading.leans}


def _shared(name: str, mine: Set[object], other: Set[object]) -> Agreement:
    return Agreement(name, len(mine & other), len(mine | other))
