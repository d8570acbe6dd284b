"""Leans of whole readings against the hand-read passages and the library: precision, recall, misses, false ones.

    python -m tests.bench leans          the table
    python -m tests.bench leans all      and every miss and false one of the sets that rules are made with
    python -m tests.bench leans sure     and how sure the measuring sets' are said to be, and how many right

The home key is given, everything else is found. Rules were made with all sets but the fifth,
the eighth and the ninth, which only measure.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from hand_records import FOLDERS, library, passages

from earloop.line import Line
from earloop.reading import Decisions, read
from earloop.reading.record import Key, Lean

MEASURING = ("fifth", "eighth", "ninth")


@dataclass
class Count:
    """Leans right, false and missed, and each stated sureness beside whether it was right."""

    right: int = 0
    false: int = 0
    missed: int = 0
    sure: list[tuple[float, bool]] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)

    @property
    def precision(self) -> float:
        return self.right / max(1, self.right + self.false)

    @property
    def recall(self) -> float:
        return self.right / max(1, self.right + self.missed)

    def row(self, name: str) -> str:
        found = self.right + self.false
        return (
            f"{name:22} precision {self.precision:.2f}  recall {self.recall:.2f}  right {self.right:3d}"
            f"  of {found:3d} found and {self.right + self.missed:3d} read by hand"
        )


Rows = Iterable[tuple[str, Line, Key, set[tuple[int, int]], set[tuple[int, int]]]]


def rows_of(name: str) -> Rows:
    """One set's passages: name, line, key, leans by hand, arguable ones."""
    if name == "library":
        return ((r.name, r.line, r.key, r.leans, set()) for r in library())
    return ((p.name, p.line, p.key, p.leans, p.arguable) for p in passages(FOLDERS[name]))


def count(rows: Rows, forgiving: bool = False) -> Count:
    """Judge the readings of one set; `forgiving` leaves arguable pairs out, else a found one is false."""
    out = Count()
    for name, line, key, wanted, arguable in rows:
        found = {(lean.lean, lean.release): lean for lean in read(line, Decisions(home=key)).leans}
        if forgiving:
            found = {pair: lean for pair, lean in found.items() if pair not in arguable}
        right = found.keys() & wanted
        out.right += len(right)
        out.false += len(found) - len(right)
        out.missed += len(wanted - right)
        out.sure += [(lean.sure, pair in wanted) for pair, lean in found.items()]
        out.lines += [f"    missed {name} {told(line, pair)}" for pair in sorted(wanted - right)]
        out.lines += [f"    false  {name} {told(line, pair, found[pair])}" for pair in sorted(found.keys() - wanted)]
    return out


def told(line: Line, pair: tuple[int, int], lean: Lean | None = None) -> str:
    first, second = line[pair[0]], line[pair[1]]
    degrees = f" {lean.degrees} sure {lean.sure:.2f}" if lean else ""
    return (
        f"{pair[0]}-{pair[1]} {first.pitch.name} {first.length:g} to {second.pitch.name} {second.length:g}"
        f" (measure {first.measure}){degrees}"
    )


def reliability(sure: list[tuple[float, bool]]) -> None:
    """How often proposals stated to be so sure were right, by tens."""
    for ten in range(11):
        own = [right for chance, right in sure if int(chance * 10) == ten]
        if own:
            right = 100 * sum(own) / len(own)
            print(f"    said {ten * 10:3d} to {ten * 10 + 9} %: {len(own):3d} proposals, {right:3.0f} % right")


def main() -> None:
    for name in ("library", *FOLDERS):
        if "fitted" in sys.argv and name in MEASURING:
            continue
        rows = list(rows_of(name))
        strict, forgiving = count(rows), count(rows, forgiving=True)
        print(strict.row(name))
        if forgiving.false != strict.false:
            print(forgiving.row("  arguable left out"))
        if "sure" in sys.argv and name in MEASURING:
            reliability(forgiving.sure)
        if "all" in sys.argv and name not in MEASURING:
            print("\n".join(strict.lines))


if __name__ == "__main__":
    main()
