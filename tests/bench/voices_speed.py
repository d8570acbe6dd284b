"""Processor time and memory of the implied-lines reader by length of line."""

from __future__ import annotations

import time
import tracemalloc

import numpy as np

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading.voices import find_voices


def compound(size: int) -> Line:
    """Two wandering lines sounding in random turn, seeded."""
    rng = np.random.default_rng(7)
    high = 72 + np.clip(np.cumsum(rng.integers(-2, 3, size)), -9, 9)
    low = 58 + np.clip(np.cumsum(rng.integers(-2, 3, size)), -9, 9)
    midi = np.where(rng.random(size) < 0.5, high, low)
    return Line(tuple(Tone(0.5 * i, 0.5, pitch_from_midi(int(m))) for i, m in enumerate(midi)))


def main() -> None:
    for size in (1_000, 10_000, 100_000):
        line = compound(size)
        assert line.columns.size == size
        best = min(_seconds(line) for _ in range(7 if size < 100_000 else 1))
        tracemalloc.start()
        find_voices(line)
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        print(f"{size:7d} tones  {1000 * best:8.1f} ms  {1e6 * best / size:6.1f} ms a thousand  peak {peak:6.1f} MB")


def _seconds(line: Line) -> float:
    start = time.process_time()
    find_voices(line)
    return time.process_time() - start


if __name__ == "__main__":
    main()
