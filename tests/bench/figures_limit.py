"""How far passing and neighbor tones of chorale sopranos can be told at all: by all four voices, by the soprano alone.

    python -m tests.bench figures_limit

The labelled chorales (`tests/outside/chorale_figures.py`) are too few to teach much, so a fit on what all four voices
do there, itself measured on chorales left out, labels the corpus's other four-part chorales with a chance; those whose
tune resembles a labelled one are left out. Boosted trees then learn from the other sopranos alone (lengths, places,
intervals, degrees, fermatas), with the truth of all voices before them: an estimate of what a soprano tells. `strict`
counts a seventh that the soprano alone adds to its chord as a chord tone; else it is left out as arguable. About five
minutes, most of it reading scores.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from chorale_figures import Voices, chorales, four_voices

from earloop.line import Line
from earloop.reading import Reading, read
from tests.bench.boosted import boost
from tests.bench.figure_cues import Steps, steps_of
from tests.bench.lean_fit import fit

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
RECALLS = (0.6, 0.7, 0.75, 0.8)
PARTS = 5


@dataclass
class Heard:
    """One chorale's steps, the chance that each lies outside the chord, which are arguable, what earloop calls so."""

    line: Line
    reading: Reading
    steps: Steps
    outside: Floats
    arguable: Flags
    ours: Flags


def labelled() -> list[Heard]:
    out = []
    for work in chorales("dev") + chorales("held"):
        heard = _heard(work.line, work.voices)
        truth = [work.truth[i] for i in heard.steps.index]
        heard.outside = np.array([kind in ("passing", "neighbor") for kind in truth], dtype=float)
        heard.arguable = np.array([kind == "arguable" for kind in truth], dtype=bool)
        out.append(heard)
    return out


def others(known: list[Heard]) -> Iterator[Heard]:
    """The corpus's other chorales in four parts and one meter of quarters or halves."""
    from music21 import converter, corpus

    tunes = {_tune(work.line) for work in known}
    for path in sorted(Path(str(path)) for path in corpus.getComposer("bach")):
        if not path.name.startswith("bwv") or path.suffix != ".mxl":
            continue
        score = converter.parse(path, forceSource=True, storePickle=False)
        if len(score.parts) != 4 or not all(part.recurse().notes for part in score.parts):
            continue
        line, voices = four_voices(score)
        meters = {(meter.beats, meter.unit) for _, meter in line.meters}
        if len(meters) == 1 and meters <= {(4, 4), (3, 4), (2, 2), (3, 2)} and _tune(line) not in tunes:
            yield _heard(line, voices)


def _heard(line: Line, voices: Voices) -> Heard:
    reading = read(line)
    steps = steps_of(line, voices, reading)
    figures = reading.weights.figure
    ours = np.array([figures[i] == name for i, name in zip(steps.index, steps.name, strict=True)], dtype=bool)
    return Heard(line, reading, steps, np.zeros(len(ours)), steps.arguable, ours)


def _tune(line: Line) -> tuple[int, ...]:
    """The first intervals from quarter to quarter."""
    assert line.meter
    keys = [t.midi for t in line.tones if (t.onset - line.meter.first_downbeat + 1e-3) % 1 < 2e-3]
    return tuple(np.diff(keys[:9]).tolist())


def by_all_voices(cues: Floats, known: list[Heard]) -> Floats:
    """Log-odds of being outside the chord, by a fit on what the four voices of the known chorales do."""
    table = np.vstack([work.steps.together for work in known])
    true = np.concatenate([work.outside for work in known])
    kept = (~np.concatenate([work.arguable for work in known])).astype(float)
    ones = np.ones((len(table), 1))
    return np.asarray(np.hstack([np.ones((len(cues), 1)), cues]) @ fit(np.hstack([ones, table]), true, kept))


def told(name: str, found: Floats, works: list[Heard]) -> None:
    """Precision and recall of what is found (0 or 1 a step), strict and with arguable ones left out."""
    print(f"  {name:46}", *(_share(found, *_truth(works, strict)) for strict in (True, False)), sep="  ")


def _share(found: Floats, true: Floats, weight: Floats) -> str:
    right = (found * true * weight).sum()
    return f"{right / (found * weight).sum():.2f} / {right / (true * weight).sum():.2f}"


def curve(name: str, odds: Floats, works: list[Heard], strict: bool) -> None:
    """The precision at some recalls, and where both are alike."""
    true, weight = _truth(works, strict)
    order = np.argsort(-odds, kind="stable")
    right = np.cumsum((true * weight)[order])
    precision, recall = right / np.maximum(np.cumsum(weight[order]), 1e-9), right / right[-1]
    at = "  ".join(f"{precision[np.searchsorted(recall, wanted - 1e-9)]:.2f} / {wanted:.2f}" for wanted in RECALLS)
    alike = np.minimum(precision, recall).max()
    print(f"  {name:30} {'strict' if strict else 'arguable out':12}  {at}   both {alike:.2f}")


def _truth(works: list[Heard], strict: bool) -> tuple[Floats, Floats]:
    true = np.concatenate([work.outside for work in works])
    arguable = np.concatenate([work.arguable for work in works])
    return (np.where(arguable, 0.0, true), np.ones(len(true))) if strict else (true, np.where(arguable, 0.0, 1.0))


def alone(train: list[Heard], test: list[Heard], strict: bool) -> Floats:
    """Log-odds of the test chorales' steps by trees that have learnt from the others' sopranos."""
    true, weight = _truth(train, strict)
    trees = boost(np.vstack([work.steps.alone for work in train]), true, weight)
    return trees.odds(np.vstack([work.steps.alone for work in test]))


def plain(works: list[Heard]) -> tuple[Floats, Floats]:
    """Every step off the beat; and what earloop names."""
    off = np.concatenate([work.steps.off_beat for work in works]).astype(float)
    return off, np.concatenate([work.ours for work in works]).astype(float)


def left_out(works: list[Heard]) -> Floats:
    """The four-voice fit's log-odds of each chorale by a fit without it."""
    return np.concatenate(
        [by_all_voices(work.steps.together, [one for one in works if one is not work]) for work in works]
    )


def main() -> None:
    known = labelled()
    print(f"{len(known)} labelled chorales: precision / recall, strict, then with arguable sevenths left out")
    off, ours = plain(known)
    told("every step off the beat", off, known)
    told("earloop, the soprano alone", ours, known)
    fitted = left_out(known)
    told("a fit on all four voices, chorales left out", (fitted > 0).astype(float), known)
    rest = list(others(known))
    for work in rest:
        work.outside = 1 / (1 + np.exp(-by_all_voices(work.steps.together, known)))
    print(f"{len(rest)} other chorales, labelled with a chance by that fit")
    off, ours = plain(rest)
    told("every step off the beat", off, rest)
    told("earloop, the soprano alone", ours, rest)
    print("boosted trees, the soprano alone: precision / recall")
    for strict in (True, False):
        curve("labelled, learnt from the other", alone(rest, known, strict), known, strict)
        odds = np.concatenate(
            [
                alone([w for k, w in enumerate(rest) if k % PARTS != part], rest[part::PARTS], strict)
                for part in range(PARTS)
            ]
        )
        turned = [work for part in range(PARTS) for work in rest[part::PARTS]]
        curve("the other, a fifth left out", odds, turned, strict)


if __name__ == "__main__":
    main()
