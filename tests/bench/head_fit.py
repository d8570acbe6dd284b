"""Fit what the tree's cues say of who governs, and measure the tree with each passage's work left out of the fit.

    python -m tests.bench head_fit        minutes: plainer and more ornamented forms of tunes are sought first

A logistic fit on pairs of tones, ridge towards numbers set by hand: in trees read by hand (26 passages, both readers,
weight 1), measures read by hand and half of the plainer and more ornamented forms (weight a half each), each with the
meter given and without. Prints the numbers for `earloop/reading/tree_heads.py`, then pairs and heads left out of the
fit, and how often the tree is right by how sure it says to be.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading import read, tree_heads
from earloop.reading.weights import cues_of
from tests.bench import variants
from tests.bench.trees import claims, row
from tests.bench.variants import reliability
from tests.hand_records import Heads, TreeOf, heads, trees
from tests.hand_trees import alone

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
    """Passages of one score are left out together; of a tune book, each tune by itself."""
    return name if ".abc" in name else name.split()[0]


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


def fit(pairs: list[Pairs], spread: Floats, without: str | None = None) -> Floats:
    """What each cue says, one work left out, by Newton's steps."""
    own = [p for p in pairs if p.work != without]
    more = np.vstack([p.more for p in own]) / spread
    counts = np.concatenate([np.full(len(p.more), p.counts) for p in own])
    drawn = np.array([BEFORE.get(name, 0.0) for name in tree_heads.SAYS]) * spread
    says = drawn.copy()
    for _ in range(20):
        right = 1.0 / (1.0 + np.exp(-more @ says))
        slope = more.T @ (counts * (1.0 - right)) - RIDGE * (says - drawn)
        bend = (more * (counts * right * (1.0 - right))[:, None]).T @ more + RIDGE * np.eye(len(says))
        says = says + np.linalg.solve(bend, slope)
    return np.asarray(says / spread)


def shipped(says: Floats) -> None:
    """Let the tree use these numbers."""
    tree_heads.SAYS.update(zip(tree_heads.SAYS, np.round(says, 2).tolist(), strict=True))


def left_out(passages: list[TreeOf], pairs: list[Pairs], spread: Floats) -> None:
    """The measures of `python -m tests.bench trees` with each passage's work left out of the fit."""
    weights: dict[tuple[str, bool], Floats] = {}
    said: dict[bool, list[tuple[float, bool]]] = {True: [], False: []}
    for passage in passages:
        shipped(fit(pairs, spread, work_of(passage.name)))
        for line, metered in zip(both(passage.line), (True, False), strict=True):
            weights[passage.name, metered] = np.array(read(line).weights.weight)
            said[metered] += claims(passage, line)
    for metered, way in ((True, "meter given"), (False, "no meter")):
        for reader in (0, 1):
            print(f"{way}, {'first' if reader == 0 else 'second'} reader, passages left out of the fit")
            for name in ("all", "scores", "airs"):
                own = [p for p in passages if name == "all" or (".abc" in p.name) == (name == "airs")]
                row(name, [(weights[p.name, metered], p.line, p.trees[reader]) for p in own])
        reliability(said[metered])


def main() -> None:
    passages = list(trees())
    pairs = list(of_trees(passages))
    spread = np.vstack([cues(line) for p in passages for line in both(p.line)]).std(axis=0) + 1e-9
    pairs += [found for passage in heads() for found in of_heads(passage)]
    pairs += of_variants()
    whole = fit(pairs, spread)
    for name, says in zip(tree_heads.SAYS, whole.tolist(), strict=True):
        print(f'    "{name}": {says:.2f},')
    left_out(passages, pairs, spread)


if __name__ == "__main__":
    main()
