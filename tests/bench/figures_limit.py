"""How far passing and neighbor tones of chorale sopranos could be told at all: a plain rule that hears all four voices.

    python -m tests.bench figures_limit

The truth is the analysts' labels (`tests/outside/chorale_figures.py`). The rule: on the beat every tone belongs to the
chord; off the beat, where at most one other voice moves, a tone belongs to it if it sounded in any voice on the beat;
where more move, if all four make a triad. Beside it, what the soprano alone gives: every step off the beat counted.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from chorale_figures import Chorale, chorales, counts

TRIADS = [frozenset((root + above) % 12 for above in shape) for root in range(12) for shape in ((0, 4, 7), (0, 3, 7), (0, 3, 6))]  # fmt: skip  # noqa: E501
Sounding = list[tuple[float, float, int]]


def other_voices(name: str) -> tuple[float, Sounding]:
    """Where the soprano starts in its score, and the lower voices as onset, end and pitch class."""
    import music21

    folder = Path(music21.__file__).parent / "corpus" / "bach" / "choraleAnalyses"
    number = re.search(r"BWV:\s*([\d.]+)", (folder / f"{name}.rntxt").read_text(encoding="utf-8"))
    assert number
    score: Any = music21.corpus.parse(f"bach/bwv{number[1]}", forceSource=True)
    start = float(score.parts[0].flatten().notes[0].offset)
    notes = [note for part in score.parts[1:] for note in part.flatten().notes]
    return start, [(float(n.offset), float(n.offset + n.quarterLength), n.pitches[0].midi % 12) for n in notes]


def heard_with_all(work: Chorale) -> tuple[str, ...]:
    """Each soprano tone as the rule hears it."""
    start, others = other_voices(work.name)
    line = work.line
    onsets = [tone.onset for tone in line.tones]
    assert line.meter
    first = line.meter.first_downbeat
    inside = []
    for tone in line.tones:
        beat = (tone.onset - first) // 1 + first
        if tone.onset - beat < 1e-3:
            inside.append(True)
            continue
        moving = sum(abs(at - start - tone.onset) < 1e-6 for at, _, _ in others)
        if moving <= 1:
            before = [t for t in line.tones if t.onset <= beat + 1e-6]
            own = {before[-1].midi % 12} if before else set()
            inside.append(tone.midi % 12 in own | sounding(others, beat + start))
        else:
            together = sounding(others, tone.onset + start) | {tone.midi % 12}
            inside.append(any(together <= triad for triad in TRIADS))
    return named(work, inside, len(onsets))


def sounding(others: Sounding, at: float) -> set[int]:
    return {pc for begin, end, pc in others if begin <= at + 1e-6 < end}


def off_the_beat(work: Chorale) -> tuple[str, ...]:
    """Every step off the beat counted as outside the chord."""
    line = work.line
    assert line.meter
    first = line.meter.first_downbeat
    inside = [(tone.onset - first) % 1 < 1e-3 for tone in line.tones]
    return named(work, inside, len(line))


def named(work: Chorale, inside: list[bool], size: int) -> tuple[str, ...]:
    heights = [tone.pitch.height for tone in work.line.tones]
    out = []
    for i in range(size):
        come = heights[i] - heights[i - 1] if i else 0
        go = heights[i + 1] - heights[i] if i + 1 < size else 0
        steps = abs(come) == 1 and abs(go) == 1 and not inside[i]
        out.append("other" if not steps else "passing" if come == go else "neighbor")
    return tuple(out)


def main() -> None:
    works = chorales("dev") + chorales("held")
    truth = [work.truth for work in works]
    for name, hear in (("all four voices", heard_with_all), ("every step off the beat", off_the_beat)):
        right, wrong, missed = counts([hear(work) for work in works], truth)
        print(f"{name:24} precision {right / (right + wrong):.2f}, recall {right / (right + missed):.2f}")


if __name__ == "__main__":
    main()
