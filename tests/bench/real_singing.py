"""The checker on a real singer: a recording with an outside transcription, faults planted in the score.

    python -m tests.bench real_singing            fetches the recording from PyPI each time
    python -m tests.bench real_singing --folder F an unpacked sdist of basic-pitch 0.4.0

The recording is number 10 of Vocadito (Bittner et al. 2021, a set of solo singing, licence CC BY 4.0, from memory),
which basic-pitch's sdist (Apache 2.0) carries among its tests together with the notes that its model finds there.
Those notes, rounded to keys, are taken as the score: no person's truth, but not ours either. Nothing of it is kept or
shipped.
The singer's own reference pitch is found (relative mode). Then one tone of the score at a time is moved by a degree or
so, or two neighbours are swapped, and the same singing must be called wrong there. Praat as in `checker`.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tarfile
import tempfile
import venv
from pathlib import Path

import numpy as np

from earloop.hearing.compare import compare
from earloop.hearing.pitch_track import PitchTrack, pitch_track
from earloop.hearing.take import read_take
from earloop.hearing.tones_sung import tones_sung
from earloop.layers import build
from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading import read
from tests.bench.checker import praat_track

PACKAGE = "basic-pitch==0.4.0"
RESOURCES = "basic_pitch-0.4.0/tests/resources"
Notes = list[tuple[float, float, int]]
"""Onset and length in seconds, and a key."""


def fetched(folder: Path) -> Path:
    """The sdist from PyPI, by pip and without its dependencies. Its build needs an old setuptools, kept apart."""
    venv.create(folder / "python", with_pip=True)
    pip = str(folder / "python" / "bin" / "pip")
    subprocess.run([pip, "install", "--quiet", "setuptools<80", "wheel"], check=True)
    words = ["--no-deps", "--no-binary", ":all:", "--no-build-isolation", "--dest", str(folder)]
    subprocess.run([pip, "download", "--quiet", *words, PACKAGE], check=True)
    with tarfile.open(next(folder.glob("basic*.tar.gz"))) as packed:
        packed.extractall(folder, filter="data")
    return folder


def transcribed(resources: Path) -> Notes:
    """The model's notes, one at a time and in order; what is shorter than 100 ms is left out."""
    rows = np.load(resources / "vocadito_10" / "note_events.npz", allow_pickle=True)["arr_0"]
    notes = sorted((float(row[0]), float(row[1]), int(row[2])) for row in rows)
    ends = [min(end, after[0]) for (_, end, _), after in zip(notes, [*notes[1:], (np.inf, 0.0, 0)], strict=True)]
    return [(start, end - start, key) for (start, _, key), end in zip(notes, ends, strict=True) if end - start > 0.1]


def flagged(notes: Notes, track: PitchTrack, tolerance: float) -> set[int]:
    tones = tuple(Tone(2 * start, 2 * long, pitch_from_midi(key)) for start, long, key in notes)
    reading = read(Line(tones, spelled=False))
    told = compare(reading, build(reading, "ornamented"), tones_sung(track), tolerance, relative=True)
    return {tone.index for tone in told.tones if tone.verdict != "right"}


def planted(notes: Notes) -> list[tuple[Notes, set[int]]]:
    """The score with one fault each, and the tones it concerns."""
    out = []
    for k, (start, long, key) in enumerate(notes):
        for step in (-3, -2, 2, 3):
            out.append(([*notes[:k], (start, long, key + step), *notes[k + 1 :]], {k}))
        if k + 1 < len(notes) and abs(notes[k + 1][2] - key) >= 2:
            after = notes[k + 1]
            pair = [(start, long, after[2]), (after[0], after[1], key)]
            out.append(([*notes[:k], *pair, *notes[k + 2 :]], {k, k + 1}))
    return out


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else "")
    words.add_argument("--folder", type=Path, help="where basic-pitch's sdist is unpacked")
    chosen = words.parse_args()
    with tempfile.TemporaryDirectory() as made:
        resources = (chosen.folder or fetched(Path(made))) / RESOURCES
        notes, sound = transcribed(resources), read_take(resources / "vocadito_10.wav")
    print(f"{len(notes)} tones in {len(sound) / 16000:.1f} s; tones of the transcription called wrong or missed, and")
    print("planted faults (a tone two or three semitones off, two neighbours swapped) called right:")
    for whose, track in (("ours", pitch_track(sound)), ("praat", praat_track(sound))):
        for tolerance in (50.0, 75.0, 100.0):
            right = flagged(notes, track, tolerance)
            faults = planted(notes)
            passed = sum(not flagged(score, track, tolerance) & tones for score, tones in faults)
            rates = f"{len(right)}/{len(notes)} = {len(right) / len(notes):.0%}, {passed}/{len(faults)}"
            print(f"{whose:6}{tolerance:5.0f} cents: {rates} = {passed / len(faults):.1%}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
