"""A take the performer asked to keep: WAV, or FLAC through the soundfile library; a keyboard's as a MIDI file."""

from __future__ import annotations

import contextlib
import wave
from collections.abc import Iterator, Sequence
from importlib import import_module
from pathlib import Path

import numpy as np

from earloop.capture.decimation import DEVICE_RATE
from earloop.hearing.pitch_track import Floats
from earloop.hearing.tones_sung import SungTone
from earloop.whole_file import whole_file

TICKS = 480


class KeepError(Exception):
    """Why a take was not kept, in one sentence."""


def write_sound(samples: Floats, path: Path) -> None:
    """Mono, 48 kHz; 16 bit. The file is there whole or not at all. Raises KeepError."""
    if not len(samples):
        raise KeepError("nothing is left of that take: sound is remembered for five minutes")
    with _whole(path) as part:
        (_flac if path.suffix.lower() == ".flac" else _wav)(np.clip(samples, -1, 1), part)


def write_keys(tones: Sequence[SungTone], path: Path) -> None:
    """A Standard MIDI File at 60 quarters a minute: a quarter is a second; whole or not at all. Raises KeepError."""
    import mido

    if not tones:
        raise KeepError("there is no take to keep yet: play first")
    moves = [(tone.onset, "note_on", round(tone.midi), 80) for tone in tones]
    moves += [(tone.onset + tone.length, "note_off", round(tone.midi), 0) for tone in tones]
    moves.sort(key=lambda move: (move[0], move[1] == "note_on"))
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
    before = 0
    for second, kind, key, velocity in moves:
        ticks = max(before, round(second * TICKS))
        track.append(mido.Message(kind, note=key, velocity=velocity, time=ticks - before))
        before = ticks
    with _whole(path) as part:
        mido.MidiFile(type=0, ticks_per_beat=TICKS, tracks=[track]).save(str(part))


@contextlib.contextmanager
def _whole(path: Path) -> Iterator[Path]:
    """The path to write to, which takes the place of `path` when all went well. Raises KeepError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with whole_file(path) as part:
            yield part
    except OSError as error:
        raise KeepError(f"the take can't be kept in {path.parent} ({error.strerror or error})") from error


def _wav(samples: Floats, path: Path) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(DEVICE_RATE)
        file.writeframes(np.round(samples * 32767).astype("<i2").tobytes())


def _flac(samples: Floats, path: Path) -> None:
    try:
        soundfile = import_module("soundfile")
    except (ImportError, OSError) as error:
        raise KeepError("FLAC needs a library: pip install soundfile; or choose a .wav name") from error
    try:
        soundfile.write(str(path), samples, DEVICE_RATE, format="FLAC", subtype="PCM_16")
    except soundfile.LibsndfileError as error:
        raise KeepError(f"the take can't be written as FLAC ({error}): choose a .wav name") from error
