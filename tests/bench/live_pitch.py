"""How true the live trace's pitch is, frame by frame: octave errors, cents, and how far it agrees with the checker.

    python -m tests.bench live_pitch              12 melodies a voice
    python -m tests.bench live_pitch --melodies 3 sooner, rougher

The melodies are the checker's own tuning half (the odd numbers of the phrase library), sung right by its voices. Only
steady frames count: from 120 ms into a tone, where no slide nor the tone before it is left in the window.
"""

from __future__ import annotations

import argparse

import numpy as np

from earloop.capture.live_track import LiveTrack
from earloop.hearing.alignment import folded
from earloop.hearing.pitch_track import RATE, pitch_track
from tests.bench.checker import sounded
from tests.bench.checking import melodies, rooms, singing

VOICES = ("vowel", "syllables", "choir", "flute", "oboe")
NOISE = (None, 20.0, 10.0)
HOLDS, ENDS = 0.12, 0.05
BLOCK = RATE // 100
ROWS = ("voice", "noise", "frames", "no pitch", "octave off", "other degree", "median cents", "not as the checker")


def frames_of(sound: singing.Floats) -> tuple[singing.Floats, singing.Floats]:
    """Seconds and keys (NaN where unpitched) of the trace, the sound coming in blocks of 10 ms."""
    track = LiveTrack()
    found = [f for at in range(0, len(sound), BLOCK) for f in track.feed(sound[at : at + BLOCK])]
    return np.array([f[0] for f in found]), np.array([np.nan if f[1] is None else f[1] for f in found])


def measured(voice: str, made: list[melodies.Melody], noise: float | None, seed: int) -> tuple[str, ...]:
    """One row of the table."""
    off: list[singing.Floats] = []
    apart: list[singing.Floats] = []
    for k, melody in enumerate(made):
        rng = np.random.default_rng(seed + k)
        ways = singing.habits(rng)
        notes = singing.sung_right(melody, rng)
        sound = sounded(voice, notes, melody.voice, ways)
        up = 12 if voice in ("flute", "oboe") and melody.voice == "male" else 0
        if noise is not None:
            sound = rooms.noisy(sound, noise, rng)
        time, keys = frames_of(sound)
        heard = pitch_track(sound)
        same = np.minimum(np.searchsorted(heard.time, time - 1e-6), len(heard.time) - 1)
        for note in notes:
            inside = (time > note.onset + HOLDS) & (time < note.end - ENDS)
            off.append(100 * (keys[inside] - note.midi - up))
            apart.append(100 * (keys[inside] - heard.midi[same[inside]]))
    cents, between = np.concatenate(off), np.concatenate(apart)
    known, both = cents[~np.isnan(cents)], between[~np.isnan(between)]
    near = folded(known)
    shares = (
        np.mean(np.isnan(cents)),
        np.mean(np.abs(known) > 600),
        np.mean(np.abs(near) > 100),
    )
    told = [f"{100 * share:.2f} %" for share in shares]
    name = "clean" if noise is None else f"{noise:.0f} dB"
    return (
        voice,
        name,
        str(len(cents)),
        *told,
        f"{np.median(np.abs(near)):.1f}",
        f"{100 * np.mean(np.abs(both) > 5):.2f} %",
    )


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--melodies", type=int, default=12)
    words.add_argument("--voices", nargs="+", choices=VOICES, default=["vowel", "flute", "oboe"])
    chosen = words.parse_args()
    made = list(melodies.melodies(melodies.tuned(), chosen.melodies, seed=3))
    rows = [ROWS, *(measured(voice, made, noise, 3) for voice in chosen.voices for noise in NOISE)]
    widths = [max(len(row[k]) for row in rows) for k in range(len(ROWS))]
    for row in rows:
        print("  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)))


if __name__ == "__main__":
    main()
