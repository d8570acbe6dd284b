"""The parts of the listening process alone: decimation, the stream's clock, the live track, keys as tones."""

from __future__ import annotations

import os
from pathlib import Path

import mido
import numpy as np
import parselmouth
import pytest

from earloop.capture.decimation import DELAY, DEVICE_RATE, Decimation, decimated
from earloop.capture.keyboard import tones_from_midi
from earloop.capture.live_track import LiveTrack
from earloop.capture.memory import Memory, StreamClock
from earloop.capture.take_file import KeepError, write_keys
from earloop.hearing.pitch_track import RATE
from earloop.hearing.tones_sung import SungTone
from earloop.performing import Event
from tests.hearing import takes


def test_decimation_has_no_seams() -> None:
    sound = np.random.default_rng(0).normal(0, 0.1, 10_000)
    piecewise = Decimation()
    sizes = [480, 1, 2, 4096, 7, 5414]
    parts = np.split(sound, np.cumsum(sizes)[:-1])
    assert np.allclose(np.concatenate([piecewise.feed(part) for part in parts]), decimated(sound))


@pytest.mark.parametrize(("hertz", "least", "most"), [(440, -0.1, 0.1), (5000, -1.0, 0.1), (10_500, -200, -40)])
def test_decimation_passes_the_voice_and_stops_what_would_fold(hertz: float, least: float, most: float) -> None:
    """Above half the new rate (8 kHz, the sampling theorem) a tone would come back as another one."""
    sine = np.sin(2 * np.pi * hertz * np.arange(DEVICE_RATE) / DEVICE_RATE)
    out = decimated(sine)[1000:-1000]
    assert least < 20 * np.log10(np.sqrt(2 * np.mean(out**2))) < most


def test_the_live_track_agrees_with_praat() -> None:
    """Frame by frame against Boersma's autocorrelation (praat, 1993) on a vowel with vibrato and glides."""
    events = [Event(k, 1.0, key, 0.6, "single") for k, key in enumerate((57, 64, 60, 69))]
    sound = takes.sung(events, rate=DEVICE_RATE, vibrato=30.0)
    track, down, frames = LiveTrack(), Decimation(), []
    for at in range(0, len(sound), 480):
        frames += track.feed(down.feed(sound[at : at + 480]))
    praat = parselmouth.Sound(sound, DEVICE_RATE).to_pitch(time_step=0.01, pitch_floor=75, pitch_ceiling=900)
    off = []
    for second, midi, _ in frames:
        hertz = praat.get_value_at_time(second - DELAY)
        if midi is not None and not np.isnan(hertz):
            off.append(100 * (midi - 69 - 12 * np.log2(hertz / 440)))
    assert len(off) > 100
    assert np.median(np.abs(off)) < 10
    assert np.percentile(np.abs(off), 95) < 60


def test_the_live_track_is_the_recordings_track() -> None:
    """A steady tone: 440 Hz is key 69 (ISO 16, MIDI 1.0); blocks of any size give the same frames."""
    sound = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)
    whole = LiveTrack().feed(sound)
    piecewise = LiveTrack()
    parts = [frame for part in np.array_split(sound, 37) for frame in piecewise.feed(part)]
    assert [frame[1] for frame in parts] == pytest.approx([frame[1] for frame in whole])
    assert all(midi == pytest.approx(69, abs=0.02) for _, midi, _ in whole)


def test_silence_has_no_pitch() -> None:
    assert all(midi is None for _, midi, _ in LiveTrack().feed(np.zeros(RATE)))
    assert all(midi is None for _, midi, _ in LiveTrack().feed(np.full(RATE, 0.02)))
    hiss = np.random.default_rng(1).normal(0, 1e-5, RATE)
    assert all(midi is None for _, midi, _ in LiveTrack().feed(hiss))


def test_the_streams_clock_goes_by_the_earliest_arrivals() -> None:
    """Blocks can only come late: a wait of ours doesn't move the sound."""
    clock = StreamClock(1000)
    for block, late in enumerate((0.0, 0.05, 0.0, 0.2, 0.01), start=1):
        clock.arrived(block * 100, 50 + block * 0.1 + late)
    assert clock.start == pytest.approx(50.0)
    assert clock.moment(250) == pytest.approx(50.25)


def test_memory_forgets_what_is_old_and_gives_what_was_asked() -> None:
    memory = Memory(horizon=1.0)
    for block in range(300):
        memory.append(np.full(480, block / 400), 10 + (block + 1) * 0.01)
    stretch = memory.between(12.0, 12.5)
    assert stretch.moment(0.0) == pytest.approx(12.0, abs=1e-4)
    assert stretch.moment(0.4) == pytest.approx(12.4, abs=1e-4)
    assert len(stretch.sound) == pytest.approx(DEVICE_RATE // 2, abs=1)
    assert stretch.sound[2] == pytest.approx(200 / 400, abs=1e-4)
    old = memory.between(10.0, 12.5)
    assert old.moment(0.0) >= 11.9
    assert len(old.sound) == pytest.approx((12.5 - old.moment(0.0)) * DEVICE_RATE, abs=2)
    assert len(memory.between(20.0, 21.0).sound) == 0


def test_a_dropped_stretch_shifts_nothing() -> None:
    """A second of sound, half a second lost by the device, a second of sound: both are where they were."""
    memory = Memory()
    for block in range(100):
        memory.append(np.full(480, 0.1), 10 + (block + 1) * 0.01)
    for block in range(100):
        memory.append(np.full(480, 0.2), 11.5 + (block + 1) * 0.01)
    for begin, level in ((10.2, 0.1), (12.2, 0.2)):
        assert memory.between(begin, begin + 0.1).sound == pytest.approx(level, abs=1e-3)
    whole = memory.between(10.0, 13.0)
    assert len(whole.sound) == pytest.approx(2 * DEVICE_RATE, abs=480)
    assert whole.moment(0.5) == pytest.approx(10.5, abs=0.02)
    assert whole.moment(1.9) == pytest.approx(12.4, abs=0.02)


def test_keys_become_tones() -> None:
    """Note on with velocity 0 is a note off (MIDI 1.0); a key struck again begins anew; what is held is cut."""
    strokes = [
        (9.0, 50, 90),
        (10.1, 50, 0),
        (10.2, 60, 90),
        (10.7, 60, 0),
        (10.8, 62, 70),
        (11.0, 62, 70),
        (11.4, 64, 9),
    ]
    tones = tones_from_midi(strokes, 10.0, 12.0)
    assert [(round(tone.onset, 3), round(tone.length, 3), tone.midi) for tone in tones] == [
        (0.2, 0.5, 60),
        (0.8, 0.2, 62),
        (1.0, 1.0, 62),
        (1.4, 0.6, 64),
    ]


def test_a_keyboards_take_is_read_back_by_mido(tmp_path: Path) -> None:
    """Keys and seconds as played; a take that can't be written leaves what was there."""
    tones = (SungTone(0.0, 0.5, 62.0), SungTone(0.5, 0.25, 66.0), SungTone(1.0, 0.5, 66.0))
    path = tmp_path / "take.mid"
    write_keys(tones, path)
    now, begun = 0.0, []
    for message in mido.MidiFile(path):
        now += message.time
        if message.type == "note_on" and message.velocity:
            begun.append((round(now, 2), message.note))
    assert begun == [(0.0, 62), (0.5, 66), (1.0, 66)]
    before = path.read_bytes()
    path.with_name(f".part-{os.getpid()}-take.mid").mkdir()
    with pytest.raises(KeepError, match="can't be kept"):
        write_keys(tones[:1], path)
    assert path.read_bytes() == before
