"""Fit what each cue of a lean says, on the library and six hand-read sets, and test it work by work.

    python -m tests.bench lean_fit          the numbers, and how good they are on works left out
    python -m tests.bench lean_fit each     and without each cue in turn

A logistic fit with a mild pull to none (ridge 1), the library at half weight, for its leans are plainer, and passages
that nobody picked at double weight. Picked passages hold more leans than music does: the fit lets them have more by a
constant of their own, which is then left out, so that a chance means what it means in passages that nobody picked.
Lines with other parts have a fit of their own, pulled towards that one in the cues of the line. Each work is judged by
fits, and by a cut, that have seen nothing of it; the cut is where F1 is best, averaged over passages picked and
unpicked (and, alone, the library). Where the others are silent the reading goes by the line alone; this counts them as
heard.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from hand_records import library, passages

from earloop.line import Line
from earloop.reading import Decisions, read
from earloop.reading.degrees import degrees_in
from earloop.reading.lean_cues import Cues, find_cues
from earloop.reading.lean_harmony import hear_leans
from earloop.reading.leans import CUT, CUT_HEARD, HEARD_SAYS, SAYS, apart, sayings, sure_of
from earloop.reading.record import Key
from earloop.reading.streams import stream_codes
from tests.reading.test_lean_harmony import over
from tests.reading.test_leans import line_of

Floats = NDArray[np.float64]
Said = list[tuple[float, bool]]
MEASURING = ("eighth", "ninth")
"""Passages that nothing but the stated sureness is set by."""
PICKED, UNPICKED = ("", "second", "third", "fourth"), ("sixth", "seventh")
RIDGE = 1.0
WEIGHT = {"handbook": 2.0, "library": 0.5, "picked": 1.0, "unpicked": 2.0}
GROUPS = ("library", "picked", "unpicked")
CUTS = np.arange(-3.0, 1.01, 0.1)
HANDBOOK = ("G4/1 D5/2 C5/1", "G4/1 D5/2 E5/1", "G4/1 F5/2 E5/1", "G4/1 B4/2 C5/1", "C5/1 A5/2 G5/1")
"""Leapt to, long, and resolved by step to a shorter tone of the tonic's triad: what every handbook calls a lean."""

OVER_PARTS = (
    ("G4/2 C5/4 B4/2 C5/4", "E3+G3/4 G2+D4/4 C3+E4/4", 1),
    ("G4/2 C5/4 B4/2 C5/4", "E3+C4/4 D3+F4/4 C3+E4/4", 1),
    ("G4/2 D5/4 C5/2 G4/4", "G2+B3/4 C3+E4/4 C3+E4/4", 1),
    ("G4/4 E5/2 D5/2 C5/4", "C3+E4/4 G3+C5/2 G3+B4/2 C3+G4/4", 1),
    ("G4/2 A4/2 C5/2 B4/2 C5/4", "C3+E4/2 F3/2 G3+E4/2 G3+D4/2 C3+E4/4", 2),
)
"""Suspensions 4-3, 7-6 and 9-8, sixth and fourth of the cadential six-four (Aldwell & Schachter); our own notes."""


@dataclass
class Piece:
    """One piece's leans that might be: what the cues say, which of them are leans, which may be argued about.

    `own` is what the line's cues say alone, `heard` what they and the harmony say, None for a line alone.
    """

    group: str
    work: str
    cues: Cues
    own: Floats
    heard: Floats | None
    true: NDArray[np.bool_]
    sure: NDArray[np.bool_]
    leans: int

    @property
    def apart(self) -> list[float]:
        """The constants that picked passages and the library have to themselves."""
        return [float(self.group == "picked"), float(self.group in ("library", "handbook"))]


@lru_cache(maxsize=1)
def pieces() -> list[Piece]:
    out = [handbook(line_of(words)) for words in HANDBOOK]
    out += [handbook(over(words, chords), lean) for words, chords, lean in OVER_PARTS]
    out += [piece("library", row.name, row.line, row.key, row.leans, set()) for row in library()]
    for group, folders in (("picked", PICKED), ("unpicked", UNPICKED)):
        for folder in folders:
            out += [piece(group, p.work, p.line, p.key, p.leans, p.arguable) for p in passages(folder)]
    return out


def piece(
    group: str, work: str, line: Line, key: Key, leans: set[tuple[int, int]], arguable: set[tuple[int, int]]
) -> Piece:
    reading = read(line, Decisions(home=key))
    cues = find_cues(line, stream_codes(reading.voices), reading.degrees, reading.local_degrees)
    pairs = list(zip(cues.lean.tolist(), cues.release.tolist(), strict=True))
    true, sure = (
        np.array(rows, dtype=np.bool_) for rows in ([p in leans for p in pairs], [p not in arguable for p in pairs])
    )
    return Piece(group, work, cues, *said_of(line, cues), true, sure, len(leans))


def said_of(line: Line, cues: Cues) -> tuple[Floats, Floats | None]:
    """What the cues say of the line alone, and with the harmony where other parts sound."""
    harmony = hear_leans(line, cues)
    return sayings(cues, None), None if harmony is None else sayings(cues, harmony)


def handbook(line: Line, lean: int = 1) -> Piece:
    """One of the handbooks' plain leans; the next tone is its release."""
    degrees = degrees_in(line.columns, Key(0))
    cues = find_cues(line, stream_codes(("single",) * len(line)), degrees, degrees)
    true = (cues.lean == lean) & (cues.release == lean + 1)
    return Piece("handbook", "handbook", cues, *said_of(line, cues), true, np.ones(len(true), dtype=np.bool_), 1)


def fit(said: Floats, true: Floats, weight: Floats, ridge: float = RIDGE, goal: Floats | None = None) -> Floats:
    """Logistic regression by Newton's method, pulled to `goal` by `ridge`; the first column, the constant, is not."""
    pull = np.full(said.shape[1], ridge)
    pull[0] = 1e-3
    goal = np.zeros(said.shape[1]) if goal is None else goal
    at = np.zeros(said.shape[1])
    for _ in range(40):
        chance = 1 / (1 + np.exp(-said @ at))
        slope = said.T @ (weight * (chance - true)) + pull * (at - goal)
        bend = (said * (weight * chance * (1 - chance))[:, None]).T @ said + np.diag(pull)
        step = np.linalg.solve(bend, slope)
        at = at - step
        if np.abs(step).max() < 1e-7:
            break
    return at


@dataclass
class Sample:
    """Pieces as one fit sees them, by the cues of `names`; `line` is the fit of the line alone that pulls it."""

    rows: list[Piece]
    said: list[Floats]
    names: tuple[str, ...]
    line: Sample | None = None
    known: dict[frozenset[str], Floats] = field(default_factory=dict)

    @classmethod
    def of(cls, parted: bool, without: str = "") -> Sample:
        own = tuple(name for name in SAYS if name != without)
        keep = [list(SAYS).index(name) for name in own]
        alone = cls(pieces(), [row.own[:, keep] for row in pieces()], own)
        if not parted:
            return alone
        heard = tuple(name for name in HEARD_SAYS if name != without)
        keep = [list(HEARD_SAYS).index(name) for name in heard]
        rows = [(row, row.heard) for row in pieces() if row.heard is not None]
        return cls([row for row, _ in rows], [said[:, keep] for _, said in rows], heard, alone)

    def fitted(self, *without: str) -> Floats:
        """What each cue says by the pieces of all other works."""
        left_out = frozenset(without)
        if left_out not in self.known:
            use = [(row, own) for row, own in zip(self.rows, self.said, strict=True) if row.work not in left_out]
            said = np.vstack([np.hstack((own, np.tile(row.apart, (len(own), 1))))[row.sure] for row, own in use])
            true = np.concatenate([row.true[row.sure] for row, _ in use]).astype(np.float64)
            weight = np.concatenate([np.full(int(row.sure.sum()), WEIGHT[row.group]) for row, _ in use])
            goal = np.zeros(said.shape[1])
            if self.line is not None:
                pulls = dict(zip(self.line.names, self.line.fitted(*without), strict=True))
                goal[: len(self.names)] = [pulls.get(name, 0.0) for name in self.names]
            self.known[left_out] = fit(said, true, weight, RIDGE, goal)[: len(self.names)]
        return self.known[left_out]

    def left_out(self, *without: str) -> list[Floats]:
        """Each piece's log-odds by a fit without its work, and without those named."""
        return [own @ self.fitted(row.work, *without) for row, own in zip(self.rows, self.said, strict=True)]

    def nested(self) -> list[float]:
        """For each piece the cut that is best for all other works, they too judged by fits without it."""
        cuts = {work: best_cut(self, self.left_out(work), work) for work in {row.work for row in self.rows}}
        return [cuts[row.work] for row in self.rows]

    def asked(self, row: Piece, group: str) -> bool:
        """Whether a cut and the sureness are set by it: a piece of the group that is as this fit is for."""
        return row.group == group and (self.line is None) == (row.heard is None)


@dataclass
class Judged:
    """Right, false and missed leans, and each proposal's log-odds and whether right."""

    right: int
    false: int
    missed: int
    said: Said

    @property
    def f1(self) -> float:
        return 2 * self.right / max(1, 2 * self.right + self.false + self.missed)

    def told(self, name: str) -> str:
        precision, recall = self.right / max(1, self.right + self.false), self.right / max(1, self.right + self.missed)
        counts = f"({self.right} right, {self.false} false, {self.missed} missed)"
        return f"{name}: precision {precision:.2f}, recall {recall:.2f} {counts}"


def judged(rows: list[Piece], odds: list[Floats], cuts: list[float]) -> Judged:
    out = Judged(0, 0, 0, [])
    for row, own, cut in zip(rows, odds, cuts, strict=True):
        found = [k for k in apart(row.cues, own, cut) if row.sure[k]]
        out.said += [(float(own[k]), bool(row.true[k])) for k in found]
        right = int(row.true[found].sum())
        out.right += right
        out.false += len(found) - right
        out.missed += row.leans - right
    return out


def part(
    sample: Sample, odds: list[Floats], cuts: list[float], which: Callable[[Piece], bool]
) -> tuple[list[Piece], list[Floats], list[float]]:
    keep = [k for k, row in enumerate(sample.rows) if which(row)]
    return [sample.rows[k] for k in keep], [odds[k] for k in keep], [cuts[k] for k in keep]


def by_group(sample: Sample, odds: list[Floats], cut: float, without: str = "") -> list[Judged]:
    """What is found with one cut, group by group, without a work."""
    every = [cut] * len(odds)
    parts = [
        part(sample, odds, every, lambda row, g=group: sample.asked(row, g) and row.work != without) for group in GROUPS
    ]
    return [judged(*rows) for rows in parts if rows[0]]


def best_cut(sample: Sample, odds: list[Floats], without: str = "") -> float:
    """Where F1 is best, averaged over the groups of pieces."""
    return float(max(CUTS, key=lambda cut: sum(own.f1 for own in by_group(sample, odds, cut, without))))


def scale(said: list[Said]) -> Floats:
    """Constant and slope from log-odds to the chance of being right, each group as heavy as the next."""
    rows = np.array([row for own in said for row in own], dtype=float)
    weight = np.concatenate([np.full(len(own), len(rows) / len(said) / max(1, len(own))) for own in said])
    return fit(np.column_stack([np.ones(len(rows)), rows[:, 0]]), rows[:, 1], weight, 0.0)


def said_left_out(parted: bool, unpicked: bool) -> Said:
    """Of every proposal in works left out of the fit: how sure it is said to be, and whether it is right."""
    sample = Sample.of(parted)
    chance = CUT_HEARD if parted else CUT
    cuts = [float(np.log(chance / (1 - chance)))] * len(sample.rows)
    groups = ("unpicked",) if unpicked else ("library", "picked")
    rows = part(sample, sample.left_out(), cuts, lambda row: any(sample.asked(row, group) for group in groups))
    return [(sure_of(1 / (1 + np.exp(-at)), parted), right) for at, right in judged(*rows).said]


def measured(says: Floats, cut: float) -> Said:
    """Proposals in the passages that nothing is fitted to, where other parts sound: log-odds, and whether right."""
    rows = [piece("unpicked", p.work, p.line, p.key, p.leans, p.arguable) for name in MEASURING for p in passages(name)]
    heard = [(row, row.heard @ says) for row in rows if row.heard is not None]
    return judged([row for row, _ in heard], [odds for _, odds in heard], [cut] * len(heard)).said


def report(sample: Sample) -> None:
    """Precision and recall of the works left out, by group; then the scale of the stated sureness."""
    odds, cuts = sample.left_out(), sample.nested()
    for group in GROUPS:
        for alone in (True, False):
            rows = part(sample, odds, cuts, lambda row, g=group, a=alone: row.group == g and (row.heard is None) == a)
            if rows[0]:
                kind = "alone" if alone else "with other parts" if sample.line else "other parts removed"
                print(judged(*rows).told(f"left out, {group}, {kind}"))
    cut = best_cut(sample, odds)
    found = [own.said for own in by_group(sample, odds, cut)]
    at_none, slope = scale([*found, measured(sample.fitted(), cut)] if sample.line else found)
    print(f"cut at a chance of {1 / (1 + np.exp(-cut)):.2f}; sure: {at_none:.2f} + {slope:.2f} of the log-odds")


def main() -> None:
    for parted in (False, True):
        sample = Sample.of(parted)
        print(
            "\n".join(f'    "{name}": {value:.1f},' for name, value in zip(sample.names, sample.fitted(), strict=True))
        )
        report(sample)
        for name in sample.names[1:] if "each" in sys.argv else ():
            less = Sample.of(parted, name)
            odds = less.left_out()
            found = by_group(less, odds, best_cut(less, odds))
            print(f"    F1 without {name}: " + ", ".join(f"{own.f1:.2f}" for own in found))


if __name__ == "__main__":
    main()
