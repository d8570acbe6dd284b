"""How late the checker hears tones begin, by voice and register, on rendered takes whose onsets are known.

    python -m tests.bench onsets

Scales of tones of one length, parted and bound, in three registers: the built-in vowel without its chance consonants,
a cello, a bassoon and a choir of FluidR3_GM.sf2 (Debian's fluid-soundfont-gm). An instrument's samples have attacks of
their own: the moment that stands beside is where a tone's sound first comes within 10 decibels of its loudest
(perceptual onsets lie 6 to 15 decibels below the maximum: Vos & Rasch 1981, from memory), taken from the tone rendered
alone. Milliseconds, late positive.
"""

from __future__ import annotations

import argparse
from functools import cache

import numpy as np

from earloop.hearing.alignment import folded
from earloop.hearing.pitch_track import RATE, Floats, pitch_track
from earloop.hearing.tones_sung import SungTone, tones_sung
from tests.bench.checking import rooms, voices
from tests.bench.checking.singing import Habits, Note

REGISTERS = {"low": 38, "middle": 50, "high": 64}
STEPS = (0, 2, 4, 5, 7, 9, 7, 5, 4, 2)
STILL = Habits(0.0, 5.0, 0.02, 0.0, 1)
ATTACK = 0.04
BELOW = 10.0
NEAR = 0.25
SOUNDS = ("vowel", "cello", "bassoon", "choir")


def notes_of(lowest: int, parted: bool, length: float) -> list[Note]:
    """A scale up and down, `length` seconds from tone to tone."""
    sounding = 0.75 * length if parted else length - 0.005
    return [Note(k, 0.5 + k * length, sounding, float(lowest + step)) for k, step in enumerate(STEPS)]


def sounded(voice: str, notes: list[Note]) -> Floats:
    if voice != "vowel":
        return voices.instrument(voice, notes, "female", STILL)
    time = np.arange(int((notes[-1].end + 0.5) * RATE)) / RATE
    key, loud = np.full(len(time), notes[0].midi), np.zeros(len(time))
    for note in notes:
        key[int(note.onset * RATE) :] = note.midi
        inside = slice(int(note.onset * RATE), int(note.end * RATE))
        since, left = time[inside] - note.onset, note.end - time[inside]
        bound = note.index > 0 and note.onset - notes[note.index - 1].end < 0.02
        loud[inside] = 1.0 if bound else np.minimum(1.0, np.minimum(since, left) / ATTACK)
    hertz = 440 * 2 ** ((key - 69) / 12)
    phase, out = 2 * np.pi * np.cumsum(hertz) / RATE, np.zeros(len(time))
    for n in range(1, 40):
        shape = sum(1 / (1 + ((n * hertz - c) / w) ** 2) for c, w in ((700, 90), (1100, 110))) + 0.05
        out += np.where(n * hertz < 6500, shape / n * np.sin(n * phase), 0.0)
    out *= np.convolve(loud, np.ones(81) / 81, "same")
    return 0.3 * out / np.max(np.abs(out))


@cache
def attack(voice: str, midi: float, length: float) -> float:
    """Seconds from a tone's start to where its sound is BELOW decibels under its loudest."""
    sound = sounded(voice, [Note(0, 0.5, length, midi)])
    size = int(0.02 * RATE)
    power = np.convolve(sound**2, np.ones(size) / size, "same")
    return float(np.argmax(power >= power.max() * 10 ** (-BELOW / 10)) / RATE - 0.5)


def late(notes: list[Note], voice: str, heard: tuple[SungTone, ...]) -> list[float]:
    """Milliseconds of each tone for which one was heard near it, on its pitch."""
    out = []
    for note in notes:
        bound = voice == "vowel" and note.index > 0 and note.onset - notes[note.index - 1].end < 0.02
        known = note.onset + (0.0 if bound else attack(voice, note.midi, round(note.length, 3)))
        mine = [
            tone.onset - known
            for tone in heard
            if abs(tone.onset - known) < NEAR and abs(folded(np.array(100 * (tone.midi - note.midi)))) < 60
        ]
        if mine:
            out.append(1000 * min(mine, key=abs))
    return out


def main() -> None:
    argparse.ArgumentParser(description=__doc__.partition("\n")[0] if __doc__ else "").parse_args()
    print("voice    register  tones     mean   middle   spread (ms late; heard of sung), then with 10 dB of noise")
    for voice in SOUNDS:
        for register, lowest in REGISTERS.items():
            told = []
            for noise in (None, 10.0):
                errors: list[float] = []
                sung = 0
                for parted in (True, False):
                    for length in (0.3, 0.5, 0.8):
                        notes = notes_of(lowest, parted, length)
                        sound = sounded(voice, notes)
                        if noise is not None:
                            sound = rooms.noisy(sound, noise, np.random.default_rng(int(1000 * length)))
                        errors += late(notes, voice, tones_sung(pitch_track(sound)))
                        sung += len(notes)
                e = np.array(errors)
                told.append(f"{len(e):3}/{sung} {e.mean():7.1f} {np.median(e):7.1f} {np.std(e):7.1f}")
            print(f"{voice:9}{register:8}{'    '.join(told)}")


if __name__ == "__main__":
    main()
