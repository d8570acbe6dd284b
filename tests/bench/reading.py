"""Speed and memory of a reading, beside partitura's voice estimation and music21's key analysis, in one run.

    python -m tests.bench reading

Ratios are the middle of the repeats taken in turn, so that both see the same machine.
"""

from __future__ import annotations

import importlib.util
import random
import resource
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Callable

from earloop.line import Line, OtherTone, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading import read

SIZES = (1_000, 10_000, 100_000)


def wandering(size: int) -> Line:
    """A made-up melody: mostly steps, some leaps and rests, no two passages alike."""
    dice = random.Random(size)
    tones, at, midi = [], 0.0, 67
    for _ in range(size):
        midi = max(55, min(88, midi + dice.choice((-2, -1, 1, 2, 2, -2, -4, 3, 7, -7, 0))))
        length = dice.choice((0.5, 0.5, 0.5, 1.0, 0.25, 0.25, 1.5))
        tones.append(Tone(at, length, pitch_from_midi(midi)))
        at += length + (0.5 if dice.random() < 0.03 else 0.0)
    return Line(tuple(tones))


def accompanied(size: int) -> Line:
    """The same melody over chords of four tones, as many of them as it has tones."""
    line, dice = wandering(size), random.Random(size)
    others = []
    for tone in line.tones:
        root = dice.choice((36, 41, 43, 45))
        others += [OtherTone(tone.onset, tone.length, pitch_from_midi(root + above)) for above in (0, 7, 16, 24)]
    return Line(line.tones, others=tuple(others))


def seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def middle(work: Callable[[], object], repeats: int) -> float:
    return statistics.median(seconds(work) for _ in range(repeats))


def sizes() -> None:
    read(wandering(50))
    for size, repeats in zip(SIZES, (9, 3, 1), strict=True):
        # Each reading gets a fresh line: nothing found earlier may help.
        lines = iter([wandering(size) for _ in range(repeats)])
        took = middle(lambda lines=lines: read(next(lines)), repeats)
        print(f"reading {size:7,} tones: {took * 1000:9.1f} ms  ({took / size * 1e6:5.1f} µs a tone)")


def with_other_parts() -> None:
    for size, repeats in zip(SIZES, (15, 3, 1), strict=True):
        alone, both = [], []
        for _ in range(repeats):
            for took, line in ((alone, wandering(size)), (both, accompanied(size))):
                took.append(seconds(lambda line=line: read(line)))
        print(
            f"reading {size:7,} tones with {4 * size:,} others: {1000 * min(both):9.1f} ms,"
            f" {min(both) / min(alone):.2f} times the line alone (best of {repeats})"
        )


def memory() -> None:
    """In a process of its own, so that nothing else counts; started first, for it begins with the size of this one."""
    code = (
        "import resource; from tests.bench.reading import wandering; from earloop.reading import read;"
        "line = wandering(100_000); read(line);"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    unit = 1024 if sys.platform != "darwin" else 1024 * 1024
    print(f"memory at 100,000 tones, Python and numpy included: {int(done.stdout) / unit:.0f} MB")


def beside_others(size: int = 1_000) -> None:
    line = wandering(size)
    ours, keys, voices = [], [], []
    stream, notes = _music21_stream(line), _note_array(line)
    for _ in range(3):
        ours.append(seconds(lambda: read(wandering(size))))
        keys.append(seconds(lambda: stream.analyze("key")))
        if notes is not None:
            voices.append(seconds(lambda: _estimated(notes)))
    took = statistics.median(ours)
    print(
        f"beside music21's key analysis, {size:,} tones: {statistics.median(keys) / took:.2f} times our whole reading"
    )
    if voices:
        ratio = statistics.median(voices) / took
        print(f"beside partitura's voice estimation: {ratio:.2f} times our whole reading")
    else:
        print("partitura is not here (pip install partitura): its voice estimation was left out")


def _music21_stream(line: Line):  # type: ignore[no-untyped-def]
    from music21 import note, stream

    part = stream.Part()
    for tone in line.tones:
        part.insert(tone.onset, note.Note(tone.midi, quarterLength=tone.length))
    return part


def _note_array(line: Line):  # type: ignore[no-untyped-def]
    # With a FluidSynth binding about, importing partitura would download a SoundFont: it must not see one.
    sys.modules.setdefault("fluidsynth", None)  # type: ignore[arg-type]
    if importlib.util.find_spec("partitura") is None:
        return None
    import numpy as np

    rows = [(t.onset, t.length, t.onset, t.length, t.midi, f"n{i}") for i, t in enumerate(line.tones)]
    kinds = [("onset_beat", "f4"), ("duration_beat", "f4"), ("onset_div", "i4"), ("duration_div", "i4")]
    rows = [(a, b, int(c * 4), max(1, int(d * 4)), m, n) for a, b, c, d, m, n in rows]
    return np.array(rows, dtype=[*kinds, ("pitch", "i4"), ("id", "U16")])


def _estimated(notes):  # type: ignore[no-untyped-def]
    from partitura.musicanalysis import estimate_voices

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return estimate_voices(notes)


def main() -> None:
    memory()
    sizes()
    with_other_parts()
    beside_others()
    print(f"(this process at the end: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB)")


if __name__ == "__main__":
    main()
