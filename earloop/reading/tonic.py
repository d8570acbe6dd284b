"""Which tone is home, and how sure that is.

Each of the 24 keys gets a score: what the line shows at each degree (`tonic_evidence`) times how much that speaks for
a tonic there (`tonic_profiles`), and where the score prints a key signature, what that makes likely. The chances of a
pitch class as major and as minor tonic add up to its chance as home, so `Tonic.sure` is a chance and `Tonic.margin`
the distance to the runner-up's. Everything is counted from the last tone: a transposed line reads the same.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from earloop.line import Line
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Key, Mode, Tonic
from earloop.reading.tonic_evidence import evidence, key_scores, relative_time
from earloop.reading.tonic_profiles import MINOR_AGAINST_MAJOR, PROFILES
from earloop.reading.tonic_signature import signature_scores

Floats = NDArray[np.float64]
_SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 9, 10, 11)}


def find_tonic(line: Line, decided: Decisions = NONE_DECIDED) -> Tonic:
    """The home key of the line. A decided home is returned as it is, with full certainty."""
    if decided.home:
        return Tonic(decided.home, 1.0, (decided.home.pc,), 1.0)
    chances = key_chances(line)
    by_class = chances.sum(axis=0)
    order = np.argsort(-by_class, kind="stable").tolist()
    last = int(line.columns.midi[-1])
    best, second = float(by_class[order[0]]), float(by_class[order[1]])
    mode: Mode = "minor" if chances[1, order[0]] > chances[0, order[0]] else "major"
    ranked = tuple((last + above) % 12 for above in order)
    return Tonic(Key(_spell(line, ranked[0], mode), mode), best - second, ranked, best)


def key_chances(line: Line) -> Floats:
    """The chance of each key: shape (2, 12), major then minor, tonics counted upwards from the last tone."""
    scores = key_scores(evidence(line.columns, (line.whole,)), PROFILES)[0]
    scores[1] += MINOR_AGAINST_MAJOR
    if line.fifths is not None:
        scores = scores + signature_scores(line.fifths, line.mode, int(line.columns.midi[-1]), len(line))
    chances = np.exp(scores - scores.max())
    return np.asarray(chances / chances.sum(), dtype=np.float64)


def why_tonic(line: Line, tonic: Tonic) -> str:
    """One plain sentence: what in the line speaks for this home key, and how surely."""
    key, columns = tonic.key, line.columns
    above = (columns.midi - key.pc) % 12
    reasons = []
    if above[-1] == 0:
        reasons.append("the line ends on it")
    if above[0] in (0, 7):
        reasons.append("the line starts on it" if above[0] == 0 else "the line starts on its fifth")
    if np.any((above[1:] == 0) & (np.diff(columns.midi) == 1)):
        reasons.append("its leading tone rises to it")
    time = relative_time(columns.ioi)
    triad = (0, 3 if key.mode == "minor" else 4, 7)
    share = round(100 * float(time[np.isin(above, triad)].sum() / time.sum()))
    reasons.append(f"its first, third and fifth take {share} % of the time")
    outside = int((~np.isin(above, _SCALES[key.mode])).sum())
    count = "no tone lies" if not outside else "one tone lies" if outside == 1 else f"{outside} tones lie"
    reasons.append(f"{count} outside its scale")
    if line.fifths is not None:
        agrees = (key.signature - line.fifths) % 12 == 0
        reasons.append(f"the key signature {'agrees' if agrees else 'says otherwise'}")
    doubt = "" if tonic.sure >= 0.9 else f" (about {round(100 * tonic.sure)} % sure)"
    return f"{key.name}{doubt}: {', '.join(reasons[:-1])} and {reasons[-1]}."


def _spell(line: Line, pc: int, mode: Mode) -> int:
    """The tonic's place on the line of fifths: as the tones spell it, or the signature, else with few accidentals."""
    plain = pc * 7 % 12
    columns = line.columns
    same = columns.fifths[columns.midi % 12 == pc]
    if line.spelled and same.size:
        places, counts = np.unique(same, return_counts=True)
        return int(places[int(counts.argmax())])
    if line.fifths is not None:
        return plain + 12 * ((line.fifths + (3 if mode == "minor" else 0) - plain + 6) // 12)
    if not line.spelled:
        signature = plain - (3 if mode == "minor" else 0)
        return plain - 12 * round(signature / 12)
    # The middle of a diatonic scale lies two fifths above a major tonic and one below a minor one.
    middle = 2 if mode == "major" else -1
    total, size = int(columns.fifths.sum()), columns.size
    return plain + 12 * (((total // size) - middle - plain + 6) // 12)
