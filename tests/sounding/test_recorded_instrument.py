"""A real instrument on a real port: what FluidSynth, driven over JACK by the engine, makes audible is measured."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import parselmouth
import pytest
from listening_port import wait_for
from system_parts import need_program, need_soundfont

from earloop.engine.client import Engine
from earloop.performing.events import Event, Performance
from earloop.sounding.midi_port import port_names
from earloop.sounding.outputs import OutputChoice
from earloop.transport.tuning import frequency

pytestmark = [pytest.mark.jack, pytest.mark.fluidsynth]
RATE = 48000
QUIET_START = 0.4
MARIMBA = 12
"""General MIDI 1, counted from 0: struck, so that its onsets can be told from its sound, and nearly harmonic."""
A4 = 430.0
"""Not 440, so that the pitch bend and its range are heard too."""


@pytest.fixture
def instrument(jack: str, tmp_path: Path) -> Iterator[tuple[str, Path, subprocess.Popen[bytes]]]:
    """FluidSynth listening on JACK MIDI and writing what sounds to a file, in time."""
    path = tmp_path / "heard.raw"
    words = [need_program("fluidsynth"), "-s", "-i", "-m", "jack", "-a", "file", "-R", "0", "-C", "0", "-r", str(RATE)]
    settings = (f"audio.file.name={path}", "audio.file.type=raw", "midi.jack.id=recorded", f"midi.jack.server={jack}")
    for setting in settings:
        words += ["-o", setting]
    synth = subprocess.Popen([*words, need_soundfont()], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL)
    try:
        assert wait_for(lambda: any("recorded" in name for name in port_names())), "fluidsynth opens no port"
        yield "recorded", path, synth
    finally:
        synth.kill()
        synth.wait(10)


def test_onsets_and_pitches_that_were_recorded(instrument: tuple[str, Path, subprocess.Popen[bytes]]) -> None:
    """Two passes of a run at A4 = 430 Hz: all tones are there, in tune within 10 cents, in time, and none hangs."""
    name, path, synth = instrument
    events = tuple(Event(float(k), 0.6, 57 + k, 0.8, "single") for k in range(6))
    performance = Performance(events, 6.0, 150.0)
    choice = OutputChoice("midi", port=name, programs=(("single", MARIMBA),))
    with Engine(choice) as engine:
        assert wait_for(lambda: engine.snapshot().output.startswith("MIDI port"))
        engine.load(performance)
        engine.loops(2)
        engine.tuning(A4)
        time.sleep(QUIET_START)
        engine.play()
        assert wait_for(lambda: engine.snapshot().ended == 1, 20.0)
    time.sleep(1.0)
    synth.terminate()
    synth.wait(10)
    samples = np.fromfile(path, dtype="<i2").astype(float)
    sound = parselmouth.Sound(samples[: len(samples) // 2 * 2].reshape(-1, 2).mean(axis=1) / 32768, RATE)
    onsets = _onsets(sound.values[0])
    assert len(onsets) == 12
    # The server hands messages on once a period of 256 frames (5.3 ms), and FluidSynth begins on blocks of 64.
    assert np.diff(onsets) == pytest.approx([0.4] * 11, abs=0.02)
    pitch = sound.to_pitch_ac(pitch_floor=75, pitch_ceiling=700)
    hertz, seconds = pitch.selected_array["frequency"], pitch.xs()
    for number, onset in enumerate(onsets):
        inside = (seconds > onset + 0.1) & (seconds < onset + 0.3) & (hertz > 0)
        key = performance.events[number % 6].midi
        assert abs(1200 * np.log2(float(np.median(hertz[inside])) / frequency(key) * 440.0 / A4)) < 10
    assert np.abs(sound.values[0][-RATE // 10 :]).max() < 0.01, "something still sounds"


def _onsets(sound: np.ndarray) -> list[float]:
    """Seconds at which sound above 1 kHz leaps up in a 5 ms frame: the stroke of each new tone."""
    spectrum = np.fft.rfft(sound)
    spectrum[np.fft.rfftfreq(len(sound), 1 / RATE) < 1000] = 0
    high = np.fft.irfft(spectrum, len(sound))
    frames = high[: len(high) // 240 * 240].reshape(-1, 240)
    loudness = np.sqrt((frames**2).mean(axis=1))
    onsets: list[float] = []
    for index in range(4, len(loudness)):
        leap = loudness[index] > 2.0 * loudness[index - 4 : index - 1].max() + 0.05 * loudness.max()
        if leap and (not onsets or index * 0.005 - onsets[-1] > 0.15):
            onsets.append(index * 0.005)
    return onsets
