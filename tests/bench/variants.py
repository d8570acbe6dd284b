"""The tree against plainer and more ornamented forms of one tune: what the plain form kept heads its stretch.

    python -m tests.bench variants             tunes of fiddle and flute books
    python -m tests.bench variants songs       and the development half of the Essen songs (../shared/eval)
    python -m tests.bench variants chorales    and the sopranos of Bach's chorales (takes minutes)

For each width of stretch: how often the heaviest tone is the one that the plain form has (heads), how many of the tones
kept are among as many heaviest ones of the line's stretches (kept), and in how many pairs the tone kept outweighs a
tone left out (governs); with the meter given and without, beside inter-onset interval times beat and length alone.
Then how often the tree is right that a tone hangs on another, by how sure it says to be. Pieces of the half that no
coefficient was fitted on.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from tune_books import KINDS
from variants import Ornamented, Stretch, between, part_of, same_tunes, title_of, within

from earloop.line import Line
from earloop.reading import Reading, read
from earloop.reading.pulse import find_pulse

Floats = NDArray[np.float64]
MEASURED = 1
"""The half of the pieces that is measured; see `tree_heads` for what was fitted on the other."""
WIDTHS = (("up to a quarter measure", 0.0, 0.3), ("up to half a measure", 0.3, 0.7), ("a measure", 0.7, 9.0))
PAIRS = 600
"""As many pairs of lines on one tune are enough."""


@dataclass
class Count:
    """Right and of how many: stretches headed, tones kept at equal size, pairs governed."""

    heads: float = 0.0
    stretches: int = 0
    kept: int = 0
    wanted: int = 0
    governs: float = 0.0
    pairs: int = 0

    def row(self, name: str) -> str:
        return (
            f"    {name:32} heads {self.heads / max(1, self.stretches):.3f}  kept {self.kept / max(1, self.wanted):.3f}"
            f"  governs {self.governs / max(1, self.pairs):.3f}"
        )


def count(into: Count, stretches: list[Stretch], weight: Floats) -> None:
    """Add one line's stretches, judged by any value of each tone; ties count in shares."""
    wanted: set[int] = set()
    tones: set[int] = set()
    for stretch in stretches:
        inside = (*stretch.heads, *stretch.others)
        best = max(weight[i] for i in inside)
        top = [i for i in inside if weight[i] >= best - 1e-9]
        into.heads += sum(i in stretch.heads for i in top) / len(top)
        into.stretches += 1
        if len(stretch.heads) > 1:
            continue
        head = stretch.heads[0]
        into.governs += sum(0.5 + 0.5 * np.sign(round(weight[head] - weight[i], 9)) for i in stretch.others)
        into.pairs += len(stretch.others)
        wanted.add(head)
        tones |= set(inside)
    best_tones = sorted(tones, key=lambda i: -weight[i])[: len(wanted)]
    into.kept += len(wanted & set(best_tones))
    into.wanted += len(wanted)


def cases(kind: str) -> Iterator[Ornamented]:
    """The measured half: what pieces tell of themselves, and of others on the same tune."""
    lines = [(name, line) for name, line in KINDS[kind]() if part_of(title_of(line)) == MEASURED]
    yield from (within(name, line) for name, line in lines)
    pairs = list(same_tunes([line for _, line in lines]))
    for a, b in pairs[:: max(1, len(pairs) // PAIRS)]:
        yield between(lines[a][0], lines[a][1], lines[b][1])
        yield between(lines[b][0], lines[b][1], lines[a][1])


Values = Callable[[Line, Reading, Reading], Floats]
JUDGES: dict[str, Values] = {
    "the tree, meter given": lambda line, metered, free: np.array(metered.weights.weight),
    "the tree, no meter": lambda line, metered, free: np.array(free.weights.weight),
    "inter-onset interval x beat": lambda line, metered, free: (
        np.log2(np.maximum(line.columns.ioi, 1e-3)) + find_pulse(line).strength
    ),
    "length alone": lambda line, metered, free: line.columns.length,
}


def claims(found: Ornamented, reading: Reading) -> Iterator[tuple[float, bool]]:
    """How sure the tree is of each tone that hangs on another of its stretch, and whether it is right."""
    parent, sure = reading.weights.parent, reading.weights.sure
    for stretch in found.stretches:
        if len(stretch.heads) == 1:
            head = stretch.heads[0]
            yield from ((sure[i], True) for i in stretch.others if parent[i] == head)
            if parent[head] in stretch.others:
                yield sure[head], False


def reliability(rows: list[tuple[float, bool]]) -> None:
    """How often claims said to be so sure are right."""
    for low in (0.5, 0.6, 0.7, 0.8, 0.9, 0.95):
        high = 0.95 if low == 0.9 else 1.01 if low == 0.95 else low + 0.1
        own = [right for sure, right in rows if low <= sure < high]
        if own:
            said = f"{100 * low:.0f} to {100 * min(high, 1.0):.0f} %"
            print(f"    said {said}: {len(own):5d} claims, {100 * np.mean(own):.0f} % right")


def main() -> None:
    for kind in ("tunes", *(word for word in sys.argv[1:] if word in KINDS and word != "tunes")):
        counts: dict[tuple[str, str], Count] = defaultdict(Count)
        sure: dict[str, list[tuple[float, bool]]] = {"meter given": [], "no meter": []}
        for found in cases(kind):
            if not found.stretches:
                continue
            line = found.line
            metered, free = read(line), read(replace(line, meters=()))
            for name, values in JUDGES.items():
                weight = values(line, metered, free)
                for width, low, high in WIDTHS:
                    own = [s for s in found.stretches if low <= s.share < high]
                    count(counts[width, name], own, weight)
            sure["meter given"] += claims(found, metered)
            sure["no meter"] += claims(found, free)
        for width, *_ in WIDTHS:
            print(f"{kind}, stretches of {width}: {counts[width, 'length alone'].stretches}")
            for name in JUDGES:
                print(counts[width, name].row(name))
        for way, rows in sure.items():
            print(f"{kind}, how sure that one tone hangs on another, {way}")
            reliability(rows)


if __name__ == "__main__":
    main()
