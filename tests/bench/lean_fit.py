"""Fit what each cue of a lean says, on the library and five hand-read sets, and test it piece by piece.

    python -m tests.bench lean_fit          the numbers, and how good they are on pieces left out
    python -m tests.bench lean_fit each     and without each cue in turn

A logistic fit with a mild pull to none (ridge 1), the library at half weight: its leans are plainer. Lines with other
parts have a fit of their own, pulled towards that one (ridge 4) and, in what the harmony adds, to none; there passages
that nobody picked count twice. Each score is then judged by fits that have seen no passage of it, with its other parts
and without; the stated sureness is set by those, the unpicked passages as heavy as all the picked ones together.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from earloop.reading import Decisions, read
from earloop.reading.degrees import degrees_in
from earloop.reading.lean_cues import Cues, find_cues
from earloop.reading.lean_harmony import hear_leans
from earloop.reading.leans import HEARD_SAYS, SAYS, apart, sayings, sure_of
from earloop.reading.record import Key
from earloop.reading.streams import stream_codes
from tests.bench.leans import rows_of
from tests.reading.test_leans import line_of

Floats = NDArray[np.float64]
Said = list[tuple[float, bool]]
SETS = ("library", "first", "second", "third", "fourth", "sixth")
UNPICKED = "sixth"
RIDGE, HEARD_RIDGE, LIBRARY, PLAIN, TWICE = 1.0, 4.0, 0.5, 0.9, 2.0
HANDBOOK = ("G4/1 D5/2 C5/1", "G4/1 D5/2 E5/1", "G4/1 F5/2 E5/1", "G4/1 B4/2 C5/1", "C5/1 A5/2 G5/1")
"""Leapt to, long, and resolved by step to a shorter tone of the tonic's triad: what every handbook calls a lean."""


@dataclass
class Piece:
    """One piece's leans that might be: what the cues say, which of them are leans, which may be argued about.

    `own` is what the line's cues say, `heard` these and what the harmony adds, None for a line alone.
    """

    group: str
    score: str
    cues: Cues
    own: Floats
    heard: Floats | None
    true: Floats
    sure: NDArray[np.bool_]
    weight: float
    leans: int


@lru_cache(maxsize=1)
def pieces() -> list[Piece]:
    out = [handbook(words) for words in HANDBOOK]
    for name in SETS:
        for _, line, key, leans, arguable in rows_of(name):
            reading = read(line, Decisions(home=key))
            cues = find_cues(line, stream_codes(reading.voices), reading.degrees, reading.local_degrees)
            pairs = list(zip(cues.lean.tolist(), cues.release.tolist(), strict=True))
            sure = np.array([pair not in arguable for pair in pairs], dtype=np.bool_)
            true = np.array([pair in leans for pair in pairs], dtype=float)
            weight = LIBRARY if name == "library" else 1.0
            harmony = hear_leans(line, cues)
            heard = None if harmony is None else sayings(cues, harmony)
            out.append(Piece(name, line.source, cues, sayings(cues, None), heard, true, sure, weight, len(leans)))
    return out


def handbook(words: str) -> Piece:
    """One of the handbooks' plain leans: its second tone leans on its third."""
    line = line_of(words)
    degrees = degrees_in(line.columns, Key(0))
    cues = find_cues(line, stream_codes(("single",) * len(line)), degrees, degrees)
    true = (cues.lean == 1) & (cues.release == 2)
    sure = np.ones(len(true), dtype=np.bool_)
    return Piece("handbook", "handbook", cues, sayings(cues, None), None, true.astype(float), sure, PLAIN, 1)


def fit(said: Floats, true: Floats, weight: Floats, ridge: float = RIDGE, towards: Floats | None = None) -> Floats:
    """Logistic regression by Newton's method; the first column, the constant, is not pulled.

    What is given as `towards`, for as many columns as it has, pulls by `HEARD_RIDGE`, all else to none by `ridge`.
    """
    goal, pull = np.zeros(said.shape[1]), np.full(said.shape[1], ridge)
    if towards is not None:
        goal[: len(towards)], pull[: len(towards)] = towards, HEARD_RIDGE
    pull[0] = 1e-3
    at = goal.copy()
    for _ in range(40):
        chance = 1 / (1 + np.exp(-said @ at))
        slope = said.T @ (weight * (chance - true)) + pull * (at - goal)
        bend = (said * (weight * chance * (1 - chance))[:, None]).T @ said + np.diag(pull)
        at = at - np.linalg.solve(bend, slope)
    return at


def fitted(rows: list[Piece], own: list[int], added: list[int]) -> tuple[Floats, Floats]:
    """The fit for lines alone and the one for lines with other parts, of the cues to keep (columns of `HEARD_SAYS`)."""
    true = np.concatenate([row.true[row.sure] for row in rows])
    weight = np.concatenate([np.full(int(row.sure.sum()), row.weight) for row in rows])
    alone = fit(np.vstack([row.own[row.sure] for row in rows])[:, own], true, weight)
    parted = [row for row in rows if row.heard is not None]
    said = np.vstack([row.heard[row.sure] for row in parted if row.heard is not None])[:, own + added]
    true = np.concatenate([row.true[row.sure] for row in parted])
    twice = [np.full(int(row.sure.sum()), TWICE if row.group == UNPICKED else 1.0) for row in parted]
    return alone, fit(said, true, np.concatenate(twice), RIDGE, alone)


def left_out(rows: list[Piece], without: int | None = None) -> tuple[list[Floats], list[Floats]]:
    """Each piece's log-odds by fits without its score: as it is, and with its other parts removed."""
    own = [k for k in range(len(SAYS)) if k != without]
    added = [k for k in range(len(SAYS), len(HEARD_SAYS)) if k != without]
    fits = {score: fitted([row for row in rows if row.score != score], own, added) for score in {r.score for r in rows}}
    alone = [row.own[:, own] @ fits[row.score][0] for row in rows]
    heard = [
        odds if row.heard is None else row.heard[:, own + added] @ fits[row.score][1]
        for row, odds in zip(rows, alone, strict=True)
    ]
    return heard, alone


@dataclass
class Judged:
    """Right, false and missed leans, and each proposal's log-odds and whether right."""

    right: int
    false: int
    missed: int
    said: Said

    def told(self, name: str) -> str:
        precision, recall = self.right / max(1, self.right + self.false), self.right / max(1, self.right + self.missed)
        counts = f"({self.right} right, {self.false} false, {self.missed} missed)"
        return f"{name}: precision {precision:.2f}, recall {recall:.2f} {counts}"


def judged(rows: list[Piece], odds: list[Floats]) -> Judged:
    out = Judged(0, 0, 0, [])
    for row, own in zip(rows, odds, strict=True):
        found = [k for k in apart(row.cues, 1 / (1 + np.exp(-own))) if row.sure[k]]
        out.said += [(float(own[k]), bool(row.true[k])) for k in found]
        right = int(row.true[found].sum())
        out.right, out.false, out.missed = (
            out.right + right,
            out.false + len(found) - right,
            out.missed + row.leans - right,
        )
    return out


def groups(rows: list[Piece]) -> dict[str, list[int]]:
    """What is judged together: picked passages and unpicked ones, with other parts or alone, and the library."""
    out: dict[str, list[int]] = {}
    for k, row in enumerate(rows):
        if row.group not in ("handbook", "library"):
            name = "unpicked" if row.group == UNPICKED else "picked"
            out.setdefault(f"{name}, {'alone' if row.heard is None else 'with other parts'}", []).append(k)
        elif row.group == "library":
            out.setdefault("library", []).append(k)
    return out


def scale(said: list[Said]) -> Floats:
    """Constant and slope from log-odds to the chance of being right, each group as heavy as the next."""
    rows = np.array([row for own in said for row in own], dtype=float)
    weight = np.concatenate([np.full(len(own), len(rows) / len(said) / max(1, len(own))) for own in said])
    return fit(np.column_stack([np.ones(len(rows)), rows[:, 0]]), rows[:, 1], weight, 0.0)


def picked_of(rows: list[Piece], odds: list[Floats], names: tuple[str, ...], parted: bool) -> Judged:
    """Judge the pieces of some sets, those with other parts or all."""
    keep = [k for k, row in enumerate(rows) if row.group in names and (row.heard is not None or not parted)]
    return judged([rows[k] for k in keep], [odds[k] for k in keep])


def said_left_out(parted: bool | None = None, unpicked: bool | None = None) -> Said:
    """Of every proposal on pieces left out of the fit: how sure it is said to be, and whether it is right."""
    rows = pieces()
    odds, _ = left_out(rows)
    out: Said = []
    for row, own in zip(rows, odds, strict=True):
        heard = row.heard is not None
        if row.group != "handbook" and parted in (None, heard) and unpicked in (None, row.group == UNPICKED):
            out += [(sure_of(1 / (1 + np.exp(-at)), heard), right) for at, right in judged([row], [own]).said]
    return out


def main() -> None:
    rows = pieces()
    everything = list(range(len(SAYS))), list(range(len(SAYS), len(HEARD_SAYS)))
    for names, values in zip((SAYS, HEARD_SAYS), fitted(rows, *everything), strict=True):
        print("\n".join(f'    "{name}": {value:.1f},' for name, value in zip(names, values.tolist(), strict=True)))
    heard, alone = left_out(rows)
    for name, own in groups(rows).items():
        part = [rows[k] for k in own]
        print(judged(part, [heard[k] for k in own]).told(f"left out, {name}"))
        if part[0].heard is not None:
            print(judged(part, [alone[k] for k in own]).told("    other parts removed"))
    picked = tuple(name for name in SETS if name != UNPICKED)
    for name, odds, parted in (("alone", alone, False), ("with other parts", heard, True)):
        both = [picked_of(rows, odds, names, parted).said for names in (picked, (UNPICKED,))]
        at_none, slope = scale(both)
        print(f"sure, {name}: {at_none:.2f} + {slope:.2f} of the log-odds")
    if "each" in sys.argv:
        for k, name in enumerate(list(HEARD_SAYS)[1:], start=1):
            odds, _ = left_out(rows, k)
            parted = [i for i, row in enumerate(rows) if row.heard is not None]
            print(judged([rows[i] for i in parted], [odds[i] for i in parted]).told(f"    without {name}"))


if __name__ == "__main__":
    main()
