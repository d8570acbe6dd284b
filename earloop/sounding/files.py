"""A performance as a file: MIDI, WAV, FLAC, Ogg. The same performance gives the same bytes (Ogg alone counts streams).

Sound files come from the very player and synth that sound on the speaker, only without waiting.
"""

from __future__ import annotations

import wave
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from itertools import chain, islice
from math import ceil, log2
from pathlib import Path
from typing import Any

import numpy as np

from earloop.performing.events import Performance, Strand
from earloop.sounding.instrument import Instrument
from earloop.sounding.midi_recorder import TICKS, MidiRecorder
from earloop.sounding.outputs import OutputChoice, OutputError
from earloop.sounding.soundfont import FontInstrument
from earloop.sounding.synth import RATE, Synth
from earloop.sounding.timbres import PLACES, Floats
from earloop.transport.pace import FASTEST, Ramp, within_range
from earloop.transport.player import Player
from earloop.transport.tuning import EQUAL, Tuning

BLOCK = 8192
SLOWEST_WRITTEN = 4.0
"""Quarters a minute: the slowest tempo a Standard MIDI File can hold is 3.6."""
FILE_TYPES = (".mid", ".midi", ".wav", ".flac", ".ogg")


@dataclass(frozen=True, slots=True)
class Rendering:
    """How a file is to sound: a tempo factor, a tuning, semitones up, the level 0..1, with the count-in or not.

    With a `ramp` each pass is a step nearer to its goal. `soundfont` is a .sf2 to sound through instead of the synth.
    """

    tempo: float = 1.0
    tuning: Tuning = EQUAL
    transpose: int = 0
    level: float = 0.5
    counted: bool = True
    only: Strand | None = None
    ramp: Ramp | None = None
    soundfont: str = ""


def render(performance: Performance, path: str | Path, loops: int = 1, how: Rendering | None = None) -> None:
    """By the file's name: .mid, .wav (48 kHz, 16 bit), .flac or .ogg. Raises ValueError for another name."""
    kind = Path(path).suffix.lower()
    if kind in (".mid", ".midi"):
        render_midi(performance, path, loops, how)
    elif kind == ".wav":
        render_wav(performance, path, loops, how=how)
    elif kind in (".flac", ".ogg"):
        render_compressed(performance, path, loops, how=how)
    else:
        raise ValueError(f"{Path(path).name} says no kind of file earloop can make; use one of {', '.join(FILE_TYPES)}")


def render_midi(performance: Performance, path: str | Path, loops: int = 1, how: Rendering | None = None) -> None:
    """A Standard MIDI File of type 1: a track for tempo and title, then a named track for each strand that sounds."""
    import mido

    how = how or Rendering()
    # A tempo message holds at most 16.8 seconds a quarter: slower music counts in smaller values.
    slowest = performance.tempo * min(within_range(how.tempo), how.ramp.goal if how.ramp else FASTEST)
    tempo = performance.tempo * 2 ** max(0, ceil(log2(SLOWEST_WRITTEN / slowest)))
    recorder = MidiRecorder(tempo * within_range(how.tempo))
    player = _player(performance, recorder, loops, how)
    factor = player.factor
    while (due := player.due()) is not None:
        player.advance(due + 1e-9)
        if player.factor != factor:
            factor = player.factor
            recorder.change_tempo(due, tempo * factor)
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS)
    head = mido.MidiTrack()
    head.append(mido.MetaMessage("track_name", name=_plain(performance.title) or "earloop"))
    before = 0
    for ticks, quarters in recorder.tempos:
        head.append(mido.MetaMessage("set_tempo", tempo=round(60e6 / quarters), time=ticks - before))
        before = ticks
    file.tracks.append(head)
    for strand, rows in recorder.tracks.items():
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=f"{strand}: {PLACES[strand].timbre.name}")])
        before = 0
        for ticks, words in rows:
            track.append(mido.Message.from_bytes(words, time=ticks - before))
            before = ticks
        file.tracks.append(track)
    file.save(str(path))


def render_wav(
    performance: Performance,
    path: str | Path,
    loops: int = 1,
    rate: int = RATE,
    bits: int = 16,
    how: Rendering | None = None,
) -> None:
    """Stereo, 16 or 24 bit; ends when the last tone has died away. Raises ValueError for other widths."""
    if bits not in (16, 24):
        raise ValueError(f"a WAV file can have 16 or 24 bits, not {bits}")
    blocks = _begun(stream(performance, loops, rate, how))
    with open(path, "wb") as written, wave.open(written, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(bits // 8)
        file.setframerate(rate)
        for block in blocks:
            file.writeframes(_as_integers(block, bits))


def render_compressed(
    performance: Performance, path: str | Path, loops: int = 1, rate: int = RATE, how: Rendering | None = None
) -> None:
    """FLAC (24 bit) or Ogg Vorbis by the file's name, through the soundfile library. Raises OutputError without it."""
    try:
        soundfile = import_module("soundfile")
    except (ImportError, OSError) as error:
        raise OutputError("FLAC and Ogg need a library: pip install soundfile; or choose a .wav name") from error
    kind = {".flac": ("FLAC", "PCM_24"), ".ogg": ("OGG", "VORBIS")}[Path(path).suffix.lower()]
    blocks = _begun(stream(performance, loops, rate, how))
    with (
        open(path, "wb") as written,
        soundfile.SoundFile(written, "w", rate, 2, format=kind[0], subtype=kind[1]) as file,
    ):
        for block in blocks:
            file.write(block)


def stream(
    performance: Performance, loops: int = 1, rate: int = RATE, how: Rendering | None = None, block: int = BLOCK
) -> Iterator[Floats]:
    """The sound in blocks (frames × 2), until the last tone has died away."""
    how = how or Rendering()
    synth = _instrument(rate, how)
    try:
        player = _player(performance, synth, loops, how)
        while player.playing or synth.sounding:
            player.advance((synth.frame + block) / rate)
            yield synth.render(block)
    finally:
        synth.close()


def _begun(blocks: Iterator[Floats]) -> Iterator[Floats]:
    """The same blocks; whatever refuses to sound does so now, before a file that is there is written over."""
    first = list(islice(blocks, 1))
    return chain(first, blocks)


def _instrument(rate: int, how: Rendering) -> Instrument:
    """The built-in synth, or FluidSynth with a SoundFont (raises OutputError)."""
    if not how.soundfont:
        return Synth(rate, how.level)
    font = FontInstrument(OutputChoice(soundfont=how.soundfont), rate)
    font.open()
    font.level(how.level)
    return font


def _player(performance: Performance, sounder: Any, loops: int, how: Rendering) -> Player:
    player = Player(sounder)
    player.load(performance)
    player.tempo(how.tempo)
    if how.ramp is not None:
        player.ramp(how.ramp.goal, how.ramp.step)
    player.retune(how.tuning, how.transpose)
    player.alone(how.only)
    player.loops(max(1, loops))
    player.play(how.counted)
    return player


def _as_integers(block: Floats, bits: int) -> bytes:
    whole = np.round(block.astype(np.float64) * (2 ** (bits - 1) - 1)).astype("<i4")
    if bits == 16:
        return bytes(whole.astype("<i2").tobytes())
    return bytes(whole.reshape(-1, 1).view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def _plain(title: str) -> str:
    """Standard MIDI Files hold Latin-1 text at most."""
    return title.encode("latin-1", "replace").decode("latin-1")
