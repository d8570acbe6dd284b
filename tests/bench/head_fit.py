"""Fit what the tree's cues say of who governs, and measure the tree with each passage's work left out of the fit.

    python -m tests.bench head_fit        minutes: plainer and more ornamented forms of tunes are sought first

A logistic fit on pairs of tones, ridge towards numbers set by hand: in trees read by hand (26 passages, both readers,
and 42 further ones, weight 1), measures read by hand and half of the plainer and more ornamented forms (weight a half
each), each with the meter given and without. Then what some cues count more across spans: heads of measures and half
measures against all other tones of their passage. Prints the numbers for `earloop/reading/tree_heads.py`, then pairs
and heads left out of the fit, and how often the tree is right by how sure it says to be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading import read, tree_heads
from earloop.reading.weights import cues_of
from tests.bench import variants
from tests.bench.heads import shared
from tests.bench.trees import claims, row
from tests.bench.variants import reliability
from tests.hand_records import Heads, TreeOf, heads, trees
from tests.hand_trees import alone, heads_by_time, heads_of

Floats = NDArray[np.float64]

BEFORE = {
    "length": 0.7, "longer than the tone before": 0.125, "longer than the tone after": 0.125, "beat": 0.6,
    "downbeat": 0.25, "on a counted beat": 0.1, "tonic": 0.35, "third": 0.1, "fifth": 0.2, "fourth": -0.2,
    "sixth": -0.2, "seventh": -0.2, "altered": -0.3, "outside the chord": -0.5, "peak": 0.1, "trough": 0.1,
    "repeats": -0.35, "before a rest": 0.6, "opens": 0.05, "closes": 0.25,
}  # fmt: skip
"""Towards what the ridge draws; cues that aren't named here it draws to nothing."""
RIDGE = 60.0
"""Pairs: how firmly it draws, of a cue that varies by 1 from tone to tone."""
OTHER = 0.5
"""What a pair counts that is not from a whole tree."""


@dataclass(frozen=True)
class Pairs:
    """What the cues say more of the tone that governs than of the other, a row a pair, from one work."""

    work: str
    more: Floats
    counts: float


def cues(line: Line) -> Floats:
    reading = read(line)
    return cues_of(line, reading.home, reading.phrases, reading.degrees, reading.voices)


def both(line: Line) -> Iterator[Line]:
    """The line alone, with its meter and without."""
    yield alone(line)
    yield replace(alone(line), meters=())


def work_of(name: str) -> str:
    """All movements of a work are left out together; of a tune book, each tune by itself."""
    return name if ".abc" in name else "/".join(name.split()[0].rsplit(".", 1)[0].split("/")[:2])


def of_trees(passages: list[TreeOf]) -> Iterator[Pairs]:
    for passage in passages:
        pairs = [
            (above, tone)
            for tree in passage.trees
            for tone, above in enumerate(tree.governed_by)
            if above >= 0 and tone not in tree.arguable and not passage.line[tone].grace
        ]
        yield from (Pairs(work_of(passage.name), _more(cues(line), pairs), 1.0) for line in both(passage.line))


def of_heads(passage: Heads) -> Iterator[Pairs]:
    """A measure's head governs its other tones; that of a half the tones of the half that head nothing."""
    line, signs = passage.line, passage.signs
    measure = [tone.measure for tone in line.tones]
    middle = {number: _middle(line, measure, number) for number in set(measure)}
    half = [(number, line[i].onset >= middle[number] - 1e-6) for i, number in enumerate(measure)]
    known = [i for i, sign in enumerate(signs) if sign]
    pairs = [(i, j) for i in known if signs[i] == "X" for j in known if i != j and measure[i] == measure[j]]
    pairs += [(i, j) for i in known if signs[i] == "x" for j in known if signs[j] == "." and half[i] == half[j]]
    yield from (Pairs(work_of(passage.name), _more(cues(read_line), pairs), OTHER) for read_line in both(line))


def _middle(line: Line, measure: list[int | None], number: int | None) -> float:
    meter = line.meter
    assert meter is not None
    first = line[measure.index(number)].onset - meter.first_downbeat
    return float(np.floor(first / meter.measure_length + 1e-6) + 0.5) * meter.measure_length + meter.first_downbeat


def of_variants() -> Iterator[Pairs]:
    variants.MEASURED = 0
    for found in variants.cases("tunes"):
        pairs = [(s.heads[0], i) for s in found.stretches if len(s.heads) == 1 for i in s.others]
        if pairs:
            yield from (Pairs("", _more(cues(line), pairs), OTHER) for line in both(found.line))


def _more(of: Floats, pairs: list[tuple[int, int]]) -> Floats:
    above, below = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return np.asarray(of[above] - of[below])


def across_of(passage: TreeOf | Heads) -> Iterator[Pairs]:
    """Heads of measures, and of half measures, by place and by time, against all other tones of the passage.

    Each head counts a half.
    """
    line = passage.line
    more = cues(alone(line))
    for heads_there, others, counts in _heads_and_others(passage):
        pairs = [(i, j) for i in heads_there for j in others]
        if pairs:
            yield Pairs(work_of(passage.name), _more(more, pairs), counts * len(heads_there) / len(pairs))


def _heads_and_others(passage: TreeOf | Heads) -> Iterator[tuple[set[int], set[int], float]]:
    if isinstance(passage, Heads):
        known = {i for i, sign in enumerate(passage.signs) if sign}
        for signs in ("X", "Xx"):
            found = {i for i in known if passage.signs[i] in signs}
            yield found, known - found, OTHER
        return
    for tree in passage.trees:
        full = {i for i, tone in enumerate(passage.line.tones) if not tone.grace and i not in tree.arguable}
        for part in (1.0, 0.5):
            for found in (heads_of(passage.line, tree, part), heads_by_time(passage.line, tree, part) & full):
                yield found, full - found, OTHER / len(passage.trees)


@dataclass(frozen=True)
class Fit:
    """What each cue says, and what those that count more across spans add."""

    says: Floats
    across: Floats


def fit(pairs: list[Pairs], wide: list[Pairs], spread: Floats, without: str | None = None) -> Fit:
    """Both fits, one work left out."""
    drawn = np.array([BEFORE.get(name, 0.0) for name in tree_heads.SAYS])
    says = _climb(*_stacked(pairs, without), drawn, spread)
    more, counts = _stacked(wide, without)
    own = [list(tree_heads.SAYS).index(name) for name in tree_heads.ACROSS]
    across = _climb(more[:, own], counts, np.zeros(len(own)), spread[own], more @ says)
    return Fit(says, across)


def _stacked(pairs: list[Pairs], without: str | None) -> tuple[Floats, Floats]:
    own = [p for p in pairs if p.work != without]
    return np.vstack([p.more for p in own]), np.concatenate([np.full(len(p.more), p.counts) for p in own])


def _climb(more: Floats, counts: Floats, drawn: Floats, spread: Floats, given: Floats | float = 0.0) -> Floats:
    """The numbers that make the pairs likeliest beside what is `given` of them, by Newton's steps."""
    more, drawn = more / spread, drawn * spread
    says = drawn.copy()
    for _ in range(20):
        right = 1.0 / (1.0 + np.exp(-(more @ says + given)))
        slope = more.T @ (counts * (1.0 - right)) - RIDGE * (says - drawn)
        bend = (more * (counts * right * (1.0 - right))[:, None]).T @ more + RIDGE * np.eye(len(says))
        step = np.linalg.solve(bend, slope)
        says = says + step
        if np.abs(step).max() < 1e-5:
            break
    return np.asarray(says / spread)


def shipped(found: Fit) -> None:
    """Let the tree use these numbers."""
    tree_heads.SAYS.update(zip(tree_heads.SAYS, np.round(found.says, 2).tolist(), strict=True))
    tree_heads.ACROSS.update(zip(tree_heads.ACROSS, np.round(found.across, 2).tolist(), strict=True))


Sets = dict[str, list[TreeOf]]


def left_out(sets: Sets, by_hand: list[Heads], fit_without: Callable[[str], Fit]) -> None:
    """The measures of `trees` and of `heads` with each passage's work left out of the fit."""
    said: dict[bool, list[tuple[float, bool]]] = {True: [], False: []}
    for name, passages in sets.items():
        weights: dict[tuple[str, bool], Floats] = {}
        for passage in passages:
            shipped(fit_without(work_of(passage.name)))
            for line, metered in zip(both(passage.line), (True, False), strict=True):
                weights[passage.name, metered] = np.array(read(line).weights.weight)
                said[metered] += claims(passage, line)
        for metered in (True, False):
            for reader in range(len(passages[0].trees)):
                print(f"{name}, {'meter given' if metered else 'no meter'}, reader {reader + 1}, works left out")
                for kind in ("all", "scores", "tunes"):
                    own = [p for p in passages if kind == "all" or (".abc" in p.name) == (kind == "tunes")]
                    row(kind, [(weights[p.name, metered], p.line, p.trees[reader]) for p in own])
    for metered in (True, False):
        print(f"measures read by hand, {'meter given' if metered else 'no meter'}, works left out")
        found = {}
        for passage in by_hand:
            shipped(fit_without(work_of(passage.name)))
            line = passage.line if metered else replace(passage.line, meters=())
            found[passage.name] = np.array(read(line).weights.weight)
        print(f"    {shared(found)}")
    for metered in (True, False):
        print(f"how sure, {'meter given' if metered else 'no meter'}")
        reliability(said[metered])


def main() -> None:
    sets = {"openings and airs": list(trees()), "further": list(trees("further"))}
    every = [passage for passages in sets.values() for passage in passages]
    by_hand = list(heads())
    pairs = list(of_trees(every))
    spread = np.vstack([cues(line) for p in every for line in both(p.line)]).std(axis=0) + 1e-9
    pairs += [found for passage in by_hand for found in of_heads(passage)]
    pairs += of_variants()
    wide = [found for passage in (*every, *by_hand) for found in across_of(passage)]
    whole = fit(pairs, wide, spread)
    for table, numbers in ((tree_heads.SAYS, whole.says), (tree_heads.ACROSS, whole.across)):
        for name, number in zip(table, numbers.tolist(), strict=True):
            print(f'    "{name}": {number:.2f},')
    left_out(sets, by_hand, lru_cache(maxsize=None)(lambda work: fit(pairs, wide, spread, work)))


if __name__ == "__main__":
    main()
