"""Fit what each cue of a lean says, on the library and five hand-read sets, and test it piece by piece.

    python -m tests.bench lean_fit          the numbers, and how good they are on pieces left out
    python -m tests.bench lean_fit each     and without each cue in turn

A logistic fit with a mild pull to none (ridge 1), the library at half weight: its leans are plainer. Each score is
then judged by a fit that has seen no passage of it; the stated sureness is set by those.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from earloop.reading import Decisions, read
from earloop.reading.degrees import degrees_in
from earloop.reading.lean_cues import Cues, find_cues
from earloop.reading.leans import SAYS, apart, sayings, sure_of
from earloop.reading.record import Key
from earloop.reading.streams import stream_codes
from tests.bench.leans import rows_of
from tests.reading.test_leans import line_of

Floats = NDArray[np.float64]
Said = list[tuple[float, bool]]
SETS = ("library", "first", "second", "third", "fourth", "sixth")
RIDGE, LIBRARY, PLAIN = 1.0, 0.5, 0.9
HANDBOOK = ("G4/1 D5/2 C5/1", "G4/1 D5/2 E5/1", "G4/1 F5/2 E5/1", "G4/1 B4/2 C5/1", "C5/1 A5/2 G5/1")
"""Leapt to, long, and resolved by step to a shorter tone of the tonic's triad: what every handbook calls a lean."""


@dataclass
class Piece:
    """One piece's leans that might be: what the cues say, which of them are leans, which may be argued about."""

    score: str
    cues: Cues
    said: Floats
    true: Floats
    sure: NDArray[np.bool_]
    weight: float
    leans: int


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
            out.append(Piece(line.source, cues, sayings(cues), true, sure, weight, len(leans)))
    return out


def handbook(words: str) -> Piece:
    """One of the handbooks' plain leans: its second tone leans on its third."""
    line = line_of(words)
    degrees = degrees_in(line.columns, Key(0))
    cues = find_cues(line, stream_codes(("single",) * len(line)), degrees, degrees)
    true = (cues.lean == 1) & (cues.release == 2)
    return Piece("handbook", cues, sayings(cues), true.astype(float), np.ones(len(true), dtype=np.bool_), PLAIN, 1)


def fit(said: Floats, true: Floats, weight: Floats, ridge: float = RIDGE) -> Floats:
    """Logistic regression by Newton's method; the first column, the constant, is not pulled."""
    pull = np.eye(said.shape[1]) * ridge
    pull[0, 0] = 1e-3
    at = np.zeros(said.shape[1])
    for _ in range(40):
        chance = 1 / (1 + np.exp(-said @ at))
        slope = said.T @ (weight * (chance - true)) + pull @ at
        bend = (said * (weight * chance * (1 - chance))[:, None]).T @ said + pull
        at = at - np.linalg.solve(bend, slope)
    return at


def stacked(rows: list[Piece]) -> tuple[Floats, Floats, Floats]:
    """What the cues say, the truth and the weights of all that is not arguable."""
    said = np.vstack([row.said[row.sure] for row in rows])
    true = np.concatenate([row.true[row.sure] for row in rows])
    weight = np.concatenate([np.full(int(row.sure.sum()), row.weight) for row in rows])
    return said, true, weight


def left_out(rows: list[Piece], keep: list[int] | None = None) -> list[Floats]:
    """Each piece's log-odds by a fit without its score, with all cues or those to keep."""
    columns = keep or list(range(len(SAYS)))
    fits = {}
    for score in {row.score for row in rows}:
        said, true, weight = stacked([row for row in rows if row.score != score])
        fits[score] = fit(said[:, columns], true, weight)
    return [row.said[:, columns] @ fits[row.score] for row in rows]


def judged(rows: list[Piece], odds: list[Floats], weight: float) -> tuple[int, int, int, Said]:
    """Right, false and missed leans among the pieces of one weight, and each proposal's log-odds and whether right."""
    right = false = wanted = 0
    said: Said = []
    for row, own in zip(rows, odds, strict=True):
        if row.weight == weight:
            found = [k for k in apart(row.cues, 1 / (1 + np.exp(-own))) if row.sure[k]]
            said += [(float(own[k]), bool(row.true[k])) for k in found]
            right += int(row.true[found].sum())
            false += len(found) - int(row.true[found].sum())
            wanted += row.leans
    return right, false, wanted - right, said


def told(name: str, counts: tuple[int, int, int, Said]) -> str:
    right, false, missed, _ = counts
    precision, recall = right / max(1, right + false), right / max(1, right + missed)
    return f"{name}: precision {precision:.2f}, recall {recall:.2f} ({right} right, {false} false, {missed} missed)"


def said_left_out() -> list[tuple[float, bool]]:
    """Of every proposal on pieces left out of the fit: how sure it is said to be, and whether it is right."""
    rows = pieces()
    odds = left_out(rows)
    out = []
    for weight in (1.0, LIBRARY):
        out += [(sure_of(1 / (1 + np.exp(-own))), right) for own, right in judged(rows, odds, weight)[3]]
    return out


def main() -> None:
    rows = pieces()
    for name, value in zip(SAYS, fit(*stacked(rows)).tolist(), strict=True):
        print(f'    "{name}": {value:.1f},')
    odds = left_out(rows)
    sets, own = judged(rows, odds, 1.0), judged(rows, odds, LIBRARY)
    print(told("left out, five sets", sets))
    print(told("left out, library", own))
    said = np.array(sets[3] + own[3], dtype=float)
    scale = fit(np.column_stack([np.ones(len(said)), said[:, 0]]), said[:, 1], np.ones(len(said)), 0.0)
    print(f"sure: {scale[0]:.2f} + {scale[1]:.2f} of the log-odds")
    if "each" in sys.argv:
        for k, name in enumerate(list(SAYS)[1:], start=1):
            keep = [column for column in range(len(SAYS)) if column != k]
            print(told(f"    without {name}", judged(rows, left_out(rows, keep), 1.0)))


if __name__ == "__main__":
    main()
