"""Print how fast the tree of weights grows, and how its figures fare on labelled chorales.

Run from the project's root: `python -m tests.bench weights_bench` (speed), add `chorales` for the figures.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

from earloop.reading import read
from earloop.reading.degrees import degrees_in
from earloop.reading.phrases import find_phrases
from earloop.reading.tonic import find_tonic
from earloop.reading.weights import find_weights
from tests.made_lines import wandering


def speed() -> None:
    """Milliseconds for the tree alone, processor time and the clock's, best of three."""
    for size in (1_000, 10_000, 100_000):
        for metered in (True, False):
            line = wandering(size, size, metered)
            home = find_tonic(line)
            phrases, _ = find_phrases(line, home)
            degrees = degrees_in(line.columns, home.key)
            voices = ("single",) * size
            times = []
            for _ in range(3):
                clock, busy = time.perf_counter(), time.process_time()
                find_weights(line, home, phrases, degrees, voices)
                times.append((time.process_time() - busy, time.perf_counter() - clock))
            busy, clock = min(times)
            kind = "meter" if metered else "no meter"
            print(f"{size:>7} tones, {kind:>8}: {1e3 * busy:7.1f} ms busy, {1e3 * clock:7.1f} ms on the clock")


def figures() -> None:
    """Precision and recall on passing and neighbor tones of chorale sopranos."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))
    from chorale_figures import chorales, counts

    for half in ("dev", "held"):
        works = chorales(half)
        truth = [work.truth for work in works]
        for metered in (True, False):
            lines = [work.line if metered else replace(work.line, meters=()) for work in works]
            found = [read(line).weights.figure for line in lines]
            for strict in (True, False):
                right, wrong, missed = counts(found, truth, strict)
                precision, recall = right / max(1, right + wrong), right / max(1, right + missed)
                print(
                    f"{half:>5}: {len(works)} chorales, {'meter' if metered else 'no meter':>8},"
                    f" {'strict' if strict else 'arguable left out':>17}:"
                    f" precision {precision:.2f}, recall {recall:.2f} of {right + missed}"
                )


if __name__ == "__main__":
    speed()
    if "chorales" in sys.argv:
        figures()
