"""How long scores take to load, align and be written: run by hand, on an idle machine.

    python -m tests.bench scores_speed

Prints seconds; the first line is what a user waits for once, when the first MusicXML or Humdrum score is opened.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.line.spelling import spelled
from earloop.reading.read import read
from earloop.scores import load_line
from earloop.scores.align import align
from earloop.sheet import write_musicxml

WORKS = (
    "bach/bwv66.6.mxl",
    "schubert/Lindenbaum.xml",
    "chopin/mazurka06-2.krn",
    "oneills1850/0001-0050.abc",
    "beethoven/opus18no1/movement4.mxl",
)


def timed(label: str, task: Callable[[], object]) -> None:
    """Print the fastest of three runs."""
    best = min(_once(task) for _ in range(3))
    print(f"{best:8.3f} s  {label}")


def _once(task: Callable[[], object]) -> float:
    start = time.perf_counter()
    task()
    return time.perf_counter() - start


def main() -> None:
    start = time.perf_counter()
    from music21 import common

    corpus = Path(common.getSourceFilePath()) / "corpus"
    print(f"{time.perf_counter() - start:8.3f} s  import music21")
    for work in WORKS:
        timed(f"load {work}: {len(load_line(corpus / work))} tones", lambda work=work: load_line(corpus / work))
    keys = [60 + i * 7 % 17 for i in range(100_000)]
    long = Line(tuple(Tone(i * 0.5, 0.5, pitch_from_midi(key)) for i, key in enumerate(keys)))
    short = Line(long.tones[:1000])
    timed("spell 1,000 tones in a key", lambda: spelled(short, 2))
    timed("spell 1,000 tones by context", lambda: spelled(short))
    timed("spell 100,000 tones by context", lambda: spelled(long))
    timed("align 1,000 tones with themselves", lambda: align(short, short))
    reading = read(load_line(corpus / WORKS[0]))
    with TemporaryDirectory() as folder:
        timed("write bwv66.6 as MusicXML", lambda: write_musicxml(reading, Path(folder) / "page.musicxml"))


if __name__ == "__main__":
    main()
