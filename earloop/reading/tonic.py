"""Which tone is home: key profiles with the last tone's pull.

Source of the profiles: Krumhansl & Kessler 1982 (as printed in Krumhansl 1990).
"""

from __future__ import annotations

import numpy as np

from earloop.line import Line
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Key, Tonic

MAJOR = np.array([6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88])
MINOR = np.array([6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17])


def find_tonic(line: Line, decided: Decisions = NONE_DECIDED) -> Tonic:
    """The home key of the line. A decided home is returned as it is, with full certainty."""
    if decided.home:
        return Tonic(decided.home, 1.0, (decided.home.pc,), 1.0)
    columns = line.columns
    heard = np.bincount(columns.midi % 12, weights=np.maximum(columns.length, 0.25), minlength=12)
    scores = {}
    for mode, profile in (("major", MAJOR), ("minor", MINOR)):
        for pc in range(12):
            scores[pc, mode] = float(np.corrcoef(heard + 1e-9 * np.arange(12), np.roll(profile, pc))[0, 1])
    last = int(columns.midi[-1] % 12)
    best: dict[int, tuple[float, str]] = {}
    for (pc, mode), score in scores.items():
        score += 0.2 * (pc == last)
        best[pc] = max(best.get(pc, (-9.0, "")), (score, mode))
    ranked = sorted(best, key=lambda pc: -best[pc][0])
    margin = best[ranked[0]][0] - best[ranked[1]][0]
    spelled = [f for f in columns.fifths.tolist() if f * 7 % 12 == ranked[0]]
    fifths = spelled[0] if spelled else (ranked[0] * 7 + 5) % 12 - 5
    key = Key(fifths, "minor" if best[ranked[0]][1] == "minor" else "major")
    return Tonic(key, min(1.0, margin), tuple(ranked), 0.5 + min(0.5, margin))
