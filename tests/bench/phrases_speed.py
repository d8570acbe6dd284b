"""How long phrases and gestures take together, beside the tones they read.

Prints milliseconds of processor time for 1,000, 10,000 and 100,000 tones, the cost a tone against the smallest
line, and the peak of memory. The machine should be idle.
"""

from __future__ import annotations

import resource
import time

import numpy as np

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading.gestures import find_gestures
from earloop.reading.phrases import find_phrases
from earloop.reading.record import Key, Tonic

HOME = Tonic(Key(0), 0.5, (0,), 0.5)


def wandering_line(size: int, even: bool) -> Line:
    """A line by small steps; even semiquavers, or four note values mixed."""
    numbers = np.random.default_rng(1)
    keys = 55 + np.cumsum(numbers.integers(-3, 4, size)) % 24
    lengths = np.full(size, 0.25) if even else numbers.choice([0.25, 0.5, 0.5, 1.0], size)
    onsets = np.concatenate([[0.0], np.cumsum(lengths)[:-1]])
    rows = zip(onsets.tolist(), lengths.tolist(), keys.tolist(), strict=True)
    return Line(tuple(Tone(onset, length, pitch_from_midi(key)) for onset, length, key in rows))


def milliseconds(line: Line, rounds: int) -> float:
    """The best of some rounds; the line's columns are there already."""
    best = float("inf")
    for _ in range(rounds):
        begun = time.process_time()
        phrases, _ = find_phrases(line, HOME)
        find_gestures(line, phrases)
        best = min(best, time.process_time() - begun)
    return best * 1000


def main() -> None:
    for even in (False, True):
        base = 0.0
        for size, rounds in ((1_000, 15), (10_000, 5), (100_000, 2)):
            line = wandering_line(size, even)
            assert line.columns.size == size
            took = milliseconds(line, rounds)
            base = base or took / size
            kind = "even semiquavers" if even else "mixed note values"
            print(f"{kind:18s} {size:7,} tones {took:8.1f} ms   cost a tone x {took / size / base:.2f}")
    print(f"peak of memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB")


if __name__ == "__main__":
    main()
