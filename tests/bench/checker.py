"""How often the checker errs, by voice and noise, beside the same comparison fed with Praat's pitch.

    python -m tests.bench checker                 the measured half: about 40 melodies a voice
    python -m tests.bench checker --short         a few melodies, under half a minute
    python -m tests.bench checker --half tuned    the phrases the checker was tuned with
    python -m tests.bench checker --voices others six instruments that nothing was tuned with

The measured half: even numbers of the phrase library, folk tunes and chorale melodies of music21's corpus
(development half), each in a key, range and tempo of its own. Every melody is sung once right and twice with faults at
about every fifth tone: another degree, 60 cents off, two neighbours swapped, a tone left out. A right tone that is not
called right is a wrong verdict; a planted fault fails where none of its tones is flagged. Tones that sound less than
125 ms are asked for like all others and counted apart. Praat's autocorrelation (praat-parselmouth) tracks the same
sound between the same limits; everything after the track is shared. All draws come from one seed.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import parselmouth

from earloop.hearing.compare import Comparison, compare
from earloop.hearing.pitch_track import HIGHEST, HOP, LOWEST, RATE, Floats, PitchTrack, pitch_track
from earloop.hearing.tones_sung import tones_sung
from tests.bench.checking import melodies, rooms, singing, voices
from tests.bench.checking.melodies import Melody
from tests.bench.checking.singing import KINDS, Habits, Note

VOICES = ("vowel", "choir", "flute", "oboe", "syllables")
OTHERS = tuple(voices.OTHERS)
NOISE = (None, 20.0, 10.0)
SHORT = 0.125
"""Seconds: half a turn of the slowest vibrato sung here. What is shorter holds no pitch of its own under it."""
Rows = dict[tuple[str, float | None, str], Counter[str]]


@dataclass(frozen=True)
class Take:
    """`faults`: kind and layer tones of each; `sound` is clean."""

    melody: Melody
    notes: list[Note]
    faults: list[tuple[str, tuple[int, ...]]]
    sound: Floats


def takes_of(voice: str, melody: Melody, seed: int) -> list[Take]:
    """The melody sung right once and twice with faults, by one singer in one room."""
    rng = np.random.default_rng(seed)
    ways = singing.habits(rng)
    right = singing.sung_right(melody, rng)
    room = int(rng.integers(1 << 30)) if rng.random() < 0.5 else None
    out = []
    for notes, planted in ((right, []), *(singing.planted(melody, right, rng) for _ in range(2))):
        sound = sounded(voice, notes, melody.voice, ways)
        if room is not None:
            sound = rooms.reverberant(sound, RATE, np.random.default_rng(room))
        out.append(Take(melody, notes, planted, sound))
    return out


def sounded(voice: str, notes: list[Note], range_: str, ways: Habits) -> Floats:
    if voice == "vowel":
        return voices.vowel(notes, range_, ways)
    if voice == "syllables":
        return voices.syllables(notes, range_, ways)
    return voices.instrument(voice, notes, range_, ways)


def praat_track(sound: Floats) -> PitchTrack:
    """Praat's pitch at our frames, with our loudness."""
    ours = pitch_track(sound)
    praat = parselmouth.Sound(sound, RATE).to_pitch_ac(time_step=HOP, pitch_floor=LOWEST, pitch_ceiling=HIGHEST)
    hertz = np.array([praat.get_value_at_time(t) for t in ours.time])
    return PitchTrack(ours.time, 69 + 12 * np.log2(hertz / 440), ours.decibels)


def judged(take: Take, track: PitchTrack) -> Comparison:
    return compare(take.melody.reading, take.melody.layer, tones_sung(track))


def count(take: Take, told: Comparison, counts: Counter[str]) -> None:
    """Add one take's verdicts to the counts."""
    flagged = {tone.index for tone in told.tones if tone.verdict != "right"}
    lengths = {note.index: note.length for note in take.notes}
    for kind, tones in take.faults:
        short = "short " if min(lengths.get(k, 1.0) for k in tones) < SHORT else ""
        name = short + ("planted" if short else kind)
        counts[name] += 1
        counts[name + " failed"] += not flagged & set(tones)
    faulty = {k for _, tones in take.faults for k in tones}
    for index, long in lengths.items():
        if index not in faulty:
            name = "short right" if long < SHORT else "right"
            counts[name] += 1
            counts[name + " failed"] += index in flagged


def measure(
    made: list[Melody], names: tuple[str, ...], praat: bool, seed: int, heed: Callable[..., None] | None = None
) -> tuple[Rows, float, float]:
    """The table's rows, and how many times real time was reached from samples to verdicts: by the clock, which other
    work on the machine slows down, and by the core's own time."""
    rows: Rows = defaultdict(Counter)
    sung = spent = used = 0.0
    for name in names:
        for k, melody in enumerate(made):
            for take in takes_of(name, melody, seed + k):
                for noise in NOISE:
                    rng = np.random.default_rng(seed + k)
                    heard = take.sound if noise is None else rooms.noisy(take.sound, noise, rng)
                    begun, core = time.perf_counter(), time.process_time()
                    told = judged(take, pitch_track(heard))
                    spent, used = spent + time.perf_counter() - begun, used + time.process_time() - core
                    sung += len(heard) / RATE
                    count(take, told, rows[name, noise, "ours"])
                    if praat:
                        count(take, judged(take, praat_track(heard)), rows[name, noise, "praat"])
                    if heed:
                        heed(name, noise, take, told, heard)
    return rows, sung / max(spent, 1e-9), sung / max(used, 1e-9)


def table(rows: Rows) -> str:
    heads = ("voice", "noise", "pitch", "wrong on right", "all planted", *KINDS, "short right", "short planted")
    lines = [heads]
    for (voice, noise, whose), c in rows.items():
        c["planted"] = sum(c[k] for k in KINDS[:3])
        c["planted failed"] = sum(c[k + " failed"] for k in KINDS[:3])
        told = [_rate(c, k) for k in ("right", "planted", *KINDS)] + [_rate(c, k, True) for k in heads[-2:]]
        lines.append((voice, "clean" if noise is None else f"{noise:.0f} dB", whose, *told))
    widths = [max(len(line[k]) for line in lines) for k in range(len(heads))]
    return "\n".join("  ".join(cell.rjust(w) for cell, w in zip(line, widths, strict=True)) for line in lines)


def _rate(c: Counter[str], kind: str, bare: bool = False) -> str:
    failed, of = c[kind + " failed"], c[kind]
    return f"{failed}/{of}" if bare or not of else f"{100 * failed / of:.1f} % ({failed}/{of})"


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    words.add_argument("--half", choices=("tuned", "measured"), default="measured")
    words.add_argument("--melodies", type=int, default=40, help="melodies a voice")
    words.add_argument("--voices", nargs="+", default=VOICES, choices=(*VOICES, *OTHERS, "others"))
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--no-praat", action="store_true")
    words.add_argument("--short", action="store_true", help="six melodies, without Praat")
    words.add_argument("--errors", action="store_true", help="print each error")
    chosen = words.parse_args()
    number = 6 if chosen.short else chosen.melodies
    lines = melodies.tuned() if chosen.half == "tuned" else melodies.measured(number // 4, number // 4)
    made = list(melodies.melodies(lines, number, chosen.seed))
    praat = not (chosen.no_praat or chosen.short)
    names = tuple(name for asked in chosen.voices for name in (OTHERS if asked == "others" else (asked,)))
    rows, factor, core = measure(made, names, praat, chosen.seed, _tell if chosen.errors else None)
    print(table(rows))
    print(f"from samples to verdicts: {factor:.0f} times real time by the clock, {core:.0f} by the core's time")


def _tell(name: str, noise: float | None, take: Take, told: Comparison, heard: Floats) -> None:
    faulty = {k: kind for kind, tones in take.faults for k in tones}
    flagged = {tone.index for tone in told.tones if tone.verdict != "right"}
    by_index = {note.index: note for note in take.notes}
    for tone in told.tones:
        kind, note = faulty.get(tone.index, ""), by_index.get(tone.index)
        caught = any(flagged & set(tones) for k, tones in take.faults if tone.index in tones)
        if (kind and not caught) or (not kind and tone.verdict != "right"):
            sung = f"{note.onset:.2f} s, {note.length:.2f} s, {note.midi:.2f}" if note else "not sung"
            print(name, noise, take.melody.name, take.melody.voice, kind or "right", tone, "sung:", sung)


if __name__ == "__main__":
    main()
