"""Voices that sing notes at 16 kHz: a synthetic vowel, FluidSynth's instruments, espeak-ng's syllables.

The vowel: harmonics under formants (averages of Peterson & Barney 1952 for men, from memory; 17 % higher for women and
30 % for children), with breath in the pauses and consonants at onsets. The syllables are spoken by espeak-ng and moved
to the contour and lengths by Praat's overlap-add (praat-parselmouth). The instruments are those of FluidR3_GM.sf2
(Debian's fluid-soundfont-gm), each key tuned by the pitch wheel to what Praat hears.
"""

from __future__ import annotations

import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

import numpy as np
import parselmouth
from parselmouth.praat import call

from tests.bench.checking.singing import Floats, Habits, Note, contour

RATE = 16000
SOUNDFONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
PROGRAMS = {"choir": 52, "flute": 73, "oboe": 68}
OTHERS = {"oohs": 53, "strings": 48, "cello": 42, "clarinet": 71, "trumpet": 56, "bassoon": 70}
"""Programs of General MIDI; nothing was tuned with the others."""
LOW = ("choir", "oohs", "strings", "cello", "bassoon")
"""Those that sound where men sing; the rest sound an octave higher."""
RINGING = ("choir", *OTHERS)
"""Those whose samples ring on under the next tone, for half a second: one singer or player has one tone at a time."""
FORMANTS = ((730, 1090, 2440), (530, 1840, 2480), (270, 2290, 3010), (570, 840, 2410), (300, 870, 2240))
SIZE = {"male": 1.0, "female": 1.17, "child": 1.3}
SPEAKERS = {"male": "en+m3", "female": "en+f2", "child": "en+f4"}
HEAD = 0.07
"""Seconds by which a syllable's consonant comes before its tone."""
SYLLABLES = ("l'A:", "m'i:", "d'o:", "t'i:", "f'A:", "s'o:", "r'e:", "n'u:", "b'A:", "j'o:")


def vowel(notes: list[Note], voice: str, ways: Habits) -> Floats:
    """Every onset has its own vowel; about half of them a consonant, repeated tones always."""
    rng = np.random.default_rng(ways.seed)
    key, loud = contour(notes, ways, RATE)
    hertz = 440 * 2 ** ((key - 69) / 12)
    centres = np.zeros((3, len(key)))
    for k, note in enumerate(notes):
        at = int(note.onset * RATE) if k else 0
        centres[:, at:] = np.array(FORMANTS[int(rng.integers(5))])[:, None] * SIZE[voice]
    # A singer opens the mouth so that the first formant never lies below the tone (Sundberg 1975, from memory).
    centres[0] = np.maximum(centres[0], hertz)
    centres = np.stack([np.convolve(np.pad(c, 320, mode="edge"), np.ones(641) / 641, "valid") for c in centres])
    out = np.zeros(len(key))
    phase = 2 * np.pi * np.cumsum(hertz) / RATE
    for n in range(1, int(5000 / hertz.min()) + 1):
        f = n * hertz
        shape = sum(
            g / (1 + ((f - c) / w) ** 2) for g, c, w in zip((1, 0.5, 0.25), centres, (80, 100, 140), strict=True)
        )
        out += np.where(f < 6500, (shape + 0.02) / n * np.sin(n * phase), 0.0)
    out = _evened(out, notes) * loud
    out /= np.max(np.abs(out))
    for k, note in enumerate(notes):
        again = k > 0 and abs(notes[k - 1].midi - note.midi) < 0.5
        if again or rng.random() < 0.5:
            _consonant(out, int(note.onset * RATE), min(rng.uniform(0.04, 0.1), note.length / 3), rng)
    quiet = np.convolve(loud, np.ones(801) / 801, "same") < 0.02
    return out + quiet * _breath(len(out), rng) * 10 ** (-rng.uniform(26, 36) / 20)


def _evened(out: Floats, notes: list[Note]) -> Floats:
    """Vowels of like loudness, as singers make them: a third of the decibels by which they differ stays."""
    level = np.zeros(len(out))
    for note in notes:
        part = slice(int(note.onset * RATE), int(note.end * RATE) + 1)
        level[part] = np.sqrt(np.mean(out[part] ** 2)) + 1e-9
    return np.where(level > 0, out * np.maximum(level, 1e-9) ** (-2 / 3), 0.0)


def _consonant(out: Floats, at: int, long: float, rng: np.random.Generator) -> None:
    """A nasal or liquid (the voice goes on, softer), a stop (silence and a burst) or a hiss."""
    size = int(long * RATE)
    first = max(0, at - size // 2)
    part = out[first : first + size]
    kind = rng.integers(3)
    dip = np.interp(np.linspace(0, 1, len(part)), [0, 0.2, 0.8, 1], [1, 0, 0, 1])
    part *= dip + (1 - dip) * (0.25 if kind == 0 else 0.0)
    hiss = np.diff(rng.normal(size=len(part) + 1))
    if kind == 1:
        hiss[: len(hiss) // 2] = 0
    if kind:
        part += 0.04 * hiss * (1 - dip)


def _breath(size: int, rng: np.random.Generator) -> Floats:
    noise = rng.normal(size=size)
    return np.convolve(noise, np.hanning(9) * np.cos(np.arange(9) * 0.6), "same")


@cache
def _synth() -> tuple[Any, int]:
    import fluidsynth

    synth = fluidsynth.Synth(gain=0.6, samplerate=float(RATE))
    # The room of the take is ours: the synth's own would sound twice.
    synth.setting("synth.reverb.active", 0)
    synth.setting("synth.chorus.active", 0)
    return synth, synth.sfload(str(SOUNDFONT))


@dataclass(frozen=True)
class _Act:
    """`off` is semitones of the wheel at a tone's start; a tone's end fades out by `fade` seconds."""

    at: float
    kind: Literal["on", "off", "fade", "end"]
    channel: int = 0
    key: int = 0
    off: float = 0.0


FADE = 0.06
"""Seconds in which a tone that would ring on ends."""


def instrument(name: str, notes: list[Note], voice: str, ways: Habits) -> Floats:
    """Two channels in turn, so that a tone's end keeps its tuning; the wheel adds a light vibrato."""
    up = 12 if name not in LOW and voice == "male" else 0
    acts = []
    for k, note in enumerate(notes):
        key = round(note.midi) + up
        off = _out_of_tune(name, key, min(1.0, round(note.length, 1)))
        acts.append(_Act(note.onset, "on", k % 2, key, note.midi + up - key - off))
        acts.append(_Act(note.end, "off", k % 2, key))
        if name in RINGING:
            acts.extend(_Act(note.end + at, "fade", k % 2, off=1 - at / FADE) for at in (0.0, 0.02, 0.04, FADE))
    sound = _played(name, [*sorted(acts, key=lambda act: act.at), _Act(notes[-1].end + 0.4, "end")], ways)
    return sound / max(1e-6, float(np.max(np.abs(sound)))) * 0.3


@cache
def _out_of_tune(name: str, key: int, length: float) -> float:
    """Semitones by which the sample of this key is off over this length (seconds), as Praat hears it.

    The choir's are up to 40 cents low, and not by the same over their length.
    """
    still = Habits(0.0, 5.0, 0.1, 0.0, 1)
    ended = 0.1 + max(length, 0.2)
    sound = _played(name, [_Act(0.1, "on", 0, key), _Act(ended, "off", 0, key), _Act(ended + 0.1, "end")], still)
    sound = sound / np.max(np.abs(sound))
    pitch = parselmouth.Sound(sound, RATE).to_pitch_ac(time_step=0.01, pitch_floor=60, pitch_ceiling=1800)
    hertz, time = pitch.selected_array["frequency"], pitch.xs()
    hertz = hertz[(hertz > 0) & (time > 0.13) & (time < ended - 0.02)]
    midi = 69 + 12 * np.log2(hertz / 440) - key
    return float(np.median((midi + 6) % 12 - 6)) if len(midi) else 0.0


def _played(name: str, acts: list[_Act], ways: Habits) -> Floats:
    synth, font = _synth()
    rng = np.random.default_rng(ways.seed)
    synth.system_reset()
    synth.get_samples(2 * RATE)
    for channel in (0, 1):
        synth.program_select(channel, font, 0, (PROGRAMS | OTHERS)[name])
    out, now, bends = [], 0, {0: 0.0, 1: 0.0}
    width = ways.vibrato / 100 * 0.35
    for act in acts:
        while now < int(act.at * RATE):
            step = min(160, int(act.at * RATE) - now)
            swing = width * np.sin(2 * np.pi * ways.hertz * now / RATE + ways.phase)
            for channel, bend in bends.items():
                synth.pitch_bend(channel, round(4096 * (bend + swing)))
            out.append(synth.get_samples(step))
            now += step
        if act.kind == "on":
            bends[act.channel] = act.off
            synth.cc(act.channel, 120, 0)
            synth.cc(act.channel, 11, 127)
            synth.pitch_bend(act.channel, round(4096 * act.off))
            synth.noteon(act.channel, act.key, int(rng.integers(60, 110)))
        elif act.kind == "off":
            synth.noteoff(act.channel, act.key)
        elif act.kind == "fade":
            synth.cc(act.channel, 11, round(127 * max(0.0, act.off)))
    return np.concatenate(out).astype(np.float64).reshape(-1, 2).mean(axis=1)


@cache
def _spoken(speaker: str, syllable: str) -> Floats:
    """One syllable at 16 kHz without the silence around it."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "said.wav")
        subprocess.run(["espeak-ng", "-v", speaker, "-s", "120", "-w", path, f"[[{syllable}]]"], check=True)
        said = parselmouth.Sound(path).resample(RATE)
    sound = np.asarray(said.values[0])
    heard = np.flatnonzero(np.abs(sound) > 0.02 * np.max(np.abs(sound)))
    sound = sound[heard[0] : heard[-1]]
    return np.asarray(sound / np.max(np.abs(sound)))


def syllables(notes: list[Note], voice: str, ways: Habits) -> Floats:
    """Each note a syllable: consonant before the onset as spoken, the vowel drawn out to the note's end."""
    rng = np.random.default_rng(ways.seed)
    said = [_spoken(SPEAKERS[voice], SYLLABLES[int(rng.integers(len(SYLLABLES)))]) for _ in notes]
    key, _ = contour(notes, ways, 100)
    out = np.zeros(int((notes[-1].end + 0.6) * RATE))
    first = 0
    for k, note in enumerate(notes, 1):
        # Praat draws silence out only so far: each breath is made by itself.
        if k == len(notes) or notes[k].onset - note.end > 0.3:
            sung, begun = _breath_of(notes[first:k], said[first:k], key)
            at = int(begun * RATE)
            out[at : at + len(sung)] += sung[: len(out) - at]
            first = k
    return 0.3 * out


def _breath_of(notes: list[Note], said: list[Floats], key: Floats) -> tuple[Floats, float]:
    """What is sung in one breath, and the second it begins."""
    gap = 0.05
    sound = np.concatenate([np.concatenate([s, np.zeros(int(gap * RATE))]) for s in said])
    manipulation = call(parselmouth.Sound(sound, RATE), "To Manipulation", 0.01, 60, 500)
    pitch, length = call(manipulation, "Extract pitch tier"), call(manipulation, "Extract duration tier")
    call(pitch, "Remove points between", 0, 1e6)
    at = clock = 0.0
    first = max(0.0, notes[0].onset - HEAD)
    clock = first
    for k, (note, s) in enumerate(zip(notes, said, strict=True)):
        long, head = len(s) / RATE, min(HEAD, len(s) / RATE / 3)
        after = notes[k + 1].onset if k + 1 < len(notes) else note.end + HEAD + 0.05
        begun = max(clock, note.onset - head)
        sing = max(0.05, min(note.end, after - head - 0.005) - begun)
        rest = max(0.005, after - head - begun - sing)
        head_rate = 1.0 if sing > 1.5 * head else sing / long
        body_rate = max(0.05, (sing - head * head_rate) / (long - head))
        for where, rate in ((at, head_rate), (at + head, body_rate), (at + long, rest / gap)):
            call(length, "Add point", where + 1e-4, rate)
        for where, rate in ((at + head, head_rate), (at + long, body_rate), (at + long + gap, rest / gap)):
            call(length, "Add point", where - 1e-4, rate)
        _tuned(pitch, key, at, begun, ((head, head_rate), (long - head, body_rate)))
        clock = begun + sing + rest
        at += long + gap
    call([pitch, manipulation], "Replace pitch tier")
    call([length, manipulation], "Replace duration tier")
    sung = call(manipulation, "Get resynthesis (overlap-add)")
    return np.asarray(sung.values[0], dtype=np.float64), first


def _tuned(pitch: object, key: Floats, at: float, begun: float, parts: tuple[tuple[float, float], ...]) -> None:
    """Pitch points each 10 ms of sung time, placed in the time as spoken."""
    sung = begun
    for long, rate in parts:
        for t in np.arange(0, long * rate, 0.01):
            midi = key[min(len(key) - 1, int((sung + t) * 100))]
            call(pitch, "Add point", at + t / rate, 440 * 2 ** ((midi - 69) / 12))
        sung += long * rate
        at += long
