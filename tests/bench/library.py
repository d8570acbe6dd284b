"""How near whole readings come to the hand readings of our phrase library: motives and local degrees, home key given.

    python -m tests.bench library

A motive counts where its tones, its treatment and its steps are as read by hand.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from hand_records import library

from earloop.reading import Decisions, read


def main() -> None:
    exact = spans = motives = degrees = tones = 0
    for record in library():
        reading = read(record.line, Decisions(home=record.key))
        found = {(m.span.first, m.span.last): (m.treatment, m.steps) for m in reading.motives}
        rows = record.card["reading"].get("motives", [])
        at = [found.get((row["first"], row["last"])) for row in rows]
        exact += sum(own == (row["treatment"], row["steps"]) for own, row in zip(at, rows, strict=True))
        spans += sum(own is not None for own in at)
        motives += len(rows)
        degrees += sum(a == b for a, b in zip(reading.local_degrees, record.local_degrees, strict=True))
        tones += len(record.line)
    print(f"motives: {exact} as read by hand, {spans} with its tones, of {motives}")
    print(f"local degrees: {degrees} of {tones}")


if __name__ == "__main__":
    main()
