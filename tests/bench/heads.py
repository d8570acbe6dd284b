"""How the tree's weights go with the facts that are known to mark structural tones, on sopranos of Bach chorales.

    python -m tests.bench heads

Rank correlation of weight with each fact inside a line, the middle one of the lines; once with the meter given and
once without (beats still counted by the page's meter). No truth: facts measured elsewhere on human trees say that
inter-onset interval times beat strength finds most heads. Then the share of the tones of the skeleton at depth 3 that
are also among as many tones of greatest interval times beat. Then, of the tones that head a measure or half of one in
21 passages read by hand (see the note in their record), the share among as many heaviest tones.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from chorale_figures import chorales
from hand_records import Heads, heads

from earloop.line import Line
from earloop.reading import read
from earloop.reading.pulse import find_pulse

Floats = NDArray[np.float64]
FACTS: dict[str, Callable[[Line], Floats]] = {
    "inter-onset interval": lambda line: np.log2(np.maximum(line.columns.ioi, 1e-3)),
    "beat strength": lambda line: find_pulse(line).strength,
    "both": lambda line: np.log2(np.maximum(line.columns.ioi, 1e-3)) + find_pulse(line).strength,
    "before a rest or last": lambda line: (line.columns.gap > 0) | (np.arange(len(line)) == len(line) - 1),
    "repeats the tone before": lambda line: line.columns.interval == 0,
    "local high": lambda line: np.append((line.columns.interval[:-1] > 0) & (line.columns.interval[1:] < 0), False),
}


def ranks(values: Floats) -> Floats:
    """Ranks, equal values sharing theirs."""
    _, inverse, counts = np.unique(values, return_inverse=True, return_counts=True)
    return np.asarray((np.cumsum(counts) - (counts - 1) / 2)[inverse])


def agreement(one: Floats, other: Floats) -> float:
    """Spearman's rank correlation; nan where one of them is the same everywhere."""
    with np.errstate(invalid="ignore"):
        return float(np.corrcoef(ranks(one), ranks(other))[0, 1])


@lru_cache(maxsize=1)
def read_by_hand() -> list[Heads]:
    return list(heads())


def unmetered(line: Line) -> Floats:
    return np.array(read(replace(line, meters=())).weights.weight)


def by_hand(weigh: Callable[[Line], Floats]) -> str:
    """`shared` of what any value of each tone finds."""
    return shared({passage.name: weigh(passage.line) for passage in read_by_hand()})


def shared(weights: Mapping[str, Floats]) -> str:
    """Share of the tones heading a measure, and of those heading at least half of one, among as many heaviest ones."""
    out = []
    for signs in ("X", "Xx"):
        found = total = 0
        for passage in read_by_hand():
            weight = weights[passage.name]
            known = [i for i, sign in enumerate(passage.signs) if sign]
            wanted = {i for i in known if passage.signs[i] in signs}
            best = sorted(known, key=lambda i: -weight[i])[: len(wanted)]
            found, total = found + len(wanted & set(best)), total + len(wanted)
        out.append(f"{found / total:.3f} of {total}")
    return f"a measure {out[0]}, at least half {out[1]}"


def main() -> None:
    lines = [work.line for work in chorales("dev")]
    for name, read_lines in (("meter given", lines), ("no meter", [replace(line, meters=()) for line in lines])):
        readings = [read(line) for line in read_lines]
        print(name)
        for fact, of in FACTS.items():
            pairs = [
                agreement(np.array(r.weights.weight), np.asarray(of(line), dtype=float))
                for r, line in zip(readings, lines, strict=True)
            ]
            print(f"    {fact:24} {np.nanmedian(pairs):5.2f}")
        shared = total = 0
        for reading, line in zip(readings, lines, strict=True):
            kept = set(reading.skeleton(3))
            best = np.argsort(-FACTS["both"](line), kind="stable")[: len(kept)].tolist()
            shared, total = shared + len(kept & set(best)), total + len(kept)
        print(f"    skeleton at depth 3 among the longest on strong beats: {shared / total:.2f} of {total}")
    print("heads read by hand, found among as many heaviest tones")
    print(f"    the tree, meter given        {by_hand(lambda line: np.array(read(line).weights.weight))}")
    print(f"    the tree, no meter           {by_hand(unmetered)}")
    print(f"    inter-onset interval x beat  {by_hand(FACTS['both'])}")
    print(f"    length alone                 {by_hand(lambda line: line.columns.length)}")


if __name__ == "__main__":
    main()
