"""Takes with known tones: a layer rendered by the built-in synth, or sung by a vowel-like voice, faults planted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from earloop.hearing.take import read_take
from earloop.layers import Layer, build
from earloop.performing import Event, Manner, perform
from earloop.reading import Reading
from earloop.sounding.files import render_wav

Floats = NDArray[np.float64]
RATE = 16000


def events_of(reading: Reading, layer: Layer) -> list[Event]:
    return [event for event in perform(reading, layer, Manner()).events if event.strand != "held"]


def rendered(reading: Reading, layer: Layer, events: list[Event], path: Path, tempo: float = 1.0) -> Floats:
    """The take of these events by the built-in synth, read back from the file."""
    performance = perform(reading, layer, Manner())
    render_wav(replace(performance, events=tuple(events), tempo=performance.tempo * tempo), path, rate=RATE)
    return read_take(path)


def sung(
    events: list[Event], tempo: float = 72.0, rate: int = RATE, vibrato: float = 80.0, glide: float = 0.06
) -> Floats:
    """A vowel-like voice: harmonics under two formants (ah: 700 and 1100 Hz), vibrato in cents at 5.5 Hz, glides."""
    second = 60.0 / tempo
    end = max(e.onset + e.length for e in events) * second + 0.3
    time = np.arange(int(end * rate)) / rate
    key, loud = np.full(len(time), np.nan), np.zeros(len(time))
    for e in events:
        inside = (time >= e.onset * second) & (time < (e.onset + max(e.length, 0.1)) * second)
        key[inside] = e.midi + e.cents / 100
        since, left = time[inside] - e.onset * second, (e.onset + max(e.length, 0.1)) * second - time[inside]
        loud[inside] = np.minimum(1.0, np.minimum(since / 0.04, left / 0.05))
    known = ~np.isnan(key)
    key = np.interp(time, time[known], key[known])
    size = max(1, int(glide * rate))
    key = np.convolve(np.pad(key, (size // 2, size - 1 - size // 2), mode="edge"), np.ones(size) / size, "valid")
    key += vibrato / 100 * np.sin(2 * np.pi * 5.5 * time)
    hertz = 440 * 2 ** ((key - 69) / 12)
    phase = 2 * np.pi * np.cumsum(hertz) / rate
    out = np.zeros(len(time))
    for n in range(1, 20):
        f = n * hertz
        formant = sum(1 / (1 + ((f - c) / w) ** 2) for c, w in ((700, 90), (1100, 110))) + 0.05
        out += np.where(f < rate / 2.2, formant / n * np.sin(n * phase), 0.0)
    out *= loud
    return 0.3 * out / np.max(np.abs(out))


def noisy(sound: Floats, decibels: float, seed: int = 0) -> Floats:
    """White noise this far below the sound's own mean power where it sounds."""
    power = np.mean(sound[np.abs(sound) > 1e-4] ** 2)
    return sound + np.random.default_rng(seed).normal(0, np.sqrt(power / 10 ** (decibels / 10)), len(sound))


def wrong_degree(events: list[Event], at: int, semitones: int = 2) -> list[Event]:
    return [replace(e, midi=e.midi + semitones) if k == at else e for k, e in enumerate(events)]


def cents_off(events: list[Event], at: int, cents: float = 60.0) -> list[Event]:
    return [replace(e, cents=e.cents + cents) if k == at else e for k, e in enumerate(events)]


def swapped(events: list[Event], at: int) -> list[Event]:
    """Tone `at` and the next exchange their pitches."""
    first, second = events[at], events[at + 1]
    out = list(events)
    out[at], out[at + 1] = replace(first, midi=second.midi), replace(second, midi=first.midi)
    return out


def missed(events: list[Event], at: int) -> list[Event]:
    return [e for k, e in enumerate(events) if k != at]


def layer_of(reading: Reading, name: str) -> Layer:
    return build(reading, name)
