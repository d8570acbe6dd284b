"""Fit what each cue of a lean says, on the library and the first two hand-read sets, and test it piece by piece.

    python -m tests.bench lean_fit

A logistic fit with a mild pull to none (ridge 1), the library at half weight: its leans are plainer. Each piece is
then judged by a fit that has not seen it; the stated sureness is set by those.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))

from earloop.reading import Decisions, read
from earloop.reading.lean_cues import find_cues
from earloop.reading.leans import CUT, SAYS, sayings
from earloop.reading.streams import stream_codes
from tests.bench.leans import rows_of

Floats = NDArray[np.float64]
SETS = ("library", "first", "second")
RIDGE, LIBRARY = 1.0, 0.5


@dataclass
class Piece:
    """One piece's leans that might be: what the cues say, whether each is one, and how many are out of reach."""

    name: str
    said: Floats
    true: Floats
    weight: float
    lost: int


def pieces() -> list[Piece]:
    out = []
    for name in SETS:
        for piece, line, key, leans, arguable in rows_of(name):
            reading = read(line, Decisions(home=key))
            cues = find_cues(line, stream_codes(reading.voices), reading.local_degrees)
            pairs = list(zip(cues.lean.tolist(), cues.release.tolist(), strict=True))
            keep = [pair not in arguable for pair in pairs]
            true = np.array([pair in leans for pair in pairs], dtype=float)[keep]
            lost = len(leans) - int(true.sum())
            out.append(Piece(piece, sayings(cues)[keep], true, LIBRARY if name == "library" else 1.0, lost))
    return out


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


def left_out(all_pieces: list[Piece]) -> tuple[Floats, Floats, Floats]:
    """Log-odds of every candidate by a fit without its piece, the truth, and the weights."""
    odds = []
    for piece in all_pieces:
        rest = [other for other in all_pieces if other is not piece]
        at = fit(*stacked(rest))
        odds.append(piece.said @ at)
    _, true, weight = stacked(all_pieces)
    return np.concatenate(odds), true, weight


def stacked(rows: list[Piece]) -> tuple[Floats, Floats, Floats]:
    said = np.vstack([row.said for row in rows])
    true = np.concatenate([row.true for row in rows])
    weight = np.concatenate([np.full(len(row.true), row.weight) for row in rows])
    return said, true, weight


def main() -> None:
    rows = pieces()
    at = fit(*stacked(rows))
    for name, value in zip(SAYS, at.tolist(), strict=True):
        print(f'    "{name}": {value:.1f},')
    odds, true, weight = left_out(rows)
    found = 1 / (1 + np.exp(-odds)) > CUT
    for part, wanted in (("library", LIBRARY), ("both sets", 1.0)):
        own = weight == wanted
        lost = sum(row.lost for row in rows if row.weight == wanted)
        right = float((found & (true > 0) & own).sum())
        print(
            f"left out, {part}: precision {right / max(1, (found & own).sum()):.2f},"
            f" recall {right / ((true * own).sum() + lost):.2f}"
        )
    scale = fit(np.column_stack([np.ones(found.sum()), odds[found]]), true[found], weight[found], 0.0)
    print(f"sure: {scale[0]:.2f} + {scale[1]:.2f} of the log-odds")


if __name__ == "__main__":
    main()
