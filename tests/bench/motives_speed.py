"""How long leans, motives and links take: processor time a thousand tones. Nothing is asserted.

python -m tests.bench motives_speed
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

from earloop.line import Line, Pitch, Span, Tone
from earloop.reading.degrees import degrees_in
from earloop.reading.leans import find_leans
from earloop.reading.links import find_links
from earloop.reading.motives import find_motives
from earloop.reading.record import Key, Voice, Weights

GESTURE = ((0, 0.5), (1, 0.5), (2, 1.0), (1, 1.5), (0, 0.5))


def made_line(size: int, kind: str) -> Line:
    chance, at, height, tones = random.Random(1), 0.0, 35, []
    for i in range(size):
        time_ = 0.5
        if kind == "walk":
            height = max(25, min(45, height + chance.choice([-3, -2, -1, -1, 0, 1, 1, 2, 3])))
            time_ = chance.choice([0.5, 0.5, 1.0, 1.5])
        elif kind == "sequence":
            turn, place = divmod(i, len(GESTURE))
            height, time_ = 30 + turn % 9 + GESTURE[place][0], GESTURE[place][1]
        tones.append(Tone(at, time_, Pitch(height % 7, 0, height // 7)))
        at += time_
    return Line(tuple(tones))


def grouped(size: int, least: int, most: int) -> tuple[Span, ...]:
    chance, first, spans = random.Random(2), 0, []
    while first < size:
        last = min(size, first + chance.randint(least, most)) - 1
        spans.append(Span(first, last))
        first = last + 1
    return tuple(spans)


def seconds(work: Callable[[], object]) -> float:
    best = float("inf")
    for _ in range(3):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def main() -> None:
    for kind in ("walk", "sequence", "one tone"):
        for size in (1_000, 10_000, 100_000):
            line, chance = made_line(size, kind), random.Random(3)
            phrases, gestures = grouped(size, 7, 10), grouped(size, 3, 5)
            voices: tuple[Voice, ...] = tuple(chance.choice(("upper", "lower")) for _ in range(size))
            levels = tuple(chance.randint(0, 5) for _ in range(size))
            weights = Weights((0,) * size, (0.0,) * size, levels, ("structural",) * size, (0.5,) * size)
            degrees = degrees_in(line.columns, Key(0))
            times = (
                seconds(lambda: find_leans(line, degrees, degrees, voices)),  # noqa: B023
                seconds(lambda: find_motives(line, phrases, gestures)),  # noqa: B023
                seconds(lambda: find_links(line, phrases, voices, weights)),  # noqa: B023
            )
            a_thousand = [f"{1e6 * t / size:6.2f}" for t in (*times, sum(times))]
            print(f"{kind:9} {size:7} tones: leans, motives, links, all: {' '.join(a_thousand)} ms a thousand")


if __name__ == "__main__":
    main()
