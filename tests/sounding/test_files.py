"""Files: what other programs read in them is what the performance says; the same one gives the same bytes."""

from __future__ import annotations

import wave
from pathlib import Path

import mido
import numpy as np
import parselmouth
import pytest
from performances import over_a_drone, steps
from system_parts import need_module, need_soundfont

from earloop.performing.events import Event, Performance
from earloop.sounding.files import Rendering, render, render_midi, render_wav
from earloop.sounding.outputs import OutputError
from earloop.transport.pace import Ramp
from earloop.transport.tuning import frequency


@pytest.mark.parametrize("kind", ["mid", "wav", "flac"])
def test_rendered_twice_is_the_same_to_the_byte(tmp_path: Path, kind: str) -> None:
    if kind == "flac":
        need_module("soundfile", "pip install 'earloop[flac]'")
    for number in range(2):
        render(over_a_drone(), tmp_path / f"{number}.{kind}", 2)
    first, second = ((tmp_path / f"{number}.{kind}").read_bytes() for number in range(2))
    assert first == second
    assert len(first) > 200


def _notes(path: Path) -> list[tuple[float, float, int, int]]:
    """(onset, end, channel, key) in seconds, as mido plays the file."""
    now, begun, notes = 0.0, {}, []
    for message in mido.MidiFile(path):
        now += message.time
        if message.type == "note_on" and message.velocity:
            begun[message.channel, message.note] = now
        elif message.type in ("note_off", "note_on"):
            notes.append((begun.pop((message.channel, message.note)), now, message.channel, message.note))
    assert not begun
    return sorted(notes)


def test_midi_as_mido_reads_it(tmp_path: Path) -> None:
    """Tempo, division, names and programs; every note at its second, twice over."""
    path = tmp_path / "steps.mid"
    render_midi(steps(8), path, 2, Rendering(tempo=0.5))
    file = mido.MidiFile(path)
    assert (file.type, file.ticks_per_beat) == (1, 960)
    tempos = [message.tempo for message in file.tracks[0] if message.type == "set_tempo"]
    assert tempos == [1_000_000]
    assert [track.name for track in file.tracks] == ["Steps", "single: sung vowel"]
    assert [m.program for m in file.tracks[1] if m.type == "program_change"] == [53]
    notes = _notes(path)
    assert [key for *_, key in notes] == [60 + k % 8 for k in range(16)]
    assert [onset for onset, *_ in notes] == pytest.approx([0.5 * k for k in range(16)], abs=0.001)
    assert [end - onset for onset, end, *_ in notes] == pytest.approx([0.5] * 16, abs=0.001)


def test_midi_as_music21_reads_it(tmp_path: Path) -> None:
    """An independent reader finds the same tempo, parts and pitches."""
    import music21

    path = tmp_path / "two lines.mid"
    render_midi(over_a_drone(), path)
    score = music21.converter.parse(path, forceSource=True, storePickle=False)
    marks = score.recurse().getElementsByClass(music21.tempo.MetronomeMark)
    assert {mark.number for mark in marks} == {240.0}
    # The count-in is on the percussion channel of General MIDI, so its strokes have no pitch.
    found = sorted(pitch.midi for part in score.stripTies().parts for pitch in part.pitches)
    assert found == sorted(event.midi for event in over_a_drone().events)


@pytest.mark.parametrize("bits", [16, 24])
def test_wav_as_it_should_be(tmp_path: Path, bits: int) -> None:
    path = tmp_path / "steps.wav"
    render_wav(steps(4), path, bits=bits)
    with wave.open(str(path)) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (48000, 2, bits // 8)
        assert 1.0 <= file.getnframes() / 48000 < 1.5


def test_wav_pitches_by_an_independent_tracker(tmp_path: Path) -> None:
    """Praat hears each tone of the run within 10 cents, in the 24-bit file as in the 16-bit one."""
    performance = steps(8, 1.0, 120.0, first=57)
    for bits in (16, 24):
        path = tmp_path / f"{bits}.wav"
        render_wav(performance, path, bits=bits)
        pitch = parselmouth.Sound(str(path)).to_pitch_ac(pitch_floor=75, pitch_ceiling=1000)
        hertz, seconds = pitch.selected_array["frequency"], pitch.xs()
        for number, event in enumerate(performance.events):
            inside = (seconds > 0.5 * number + 0.15) & (seconds < 0.5 * number + 0.45) & (hertz > 0)
            heard = float(np.median(hertz[inside]))
            assert abs(1200 * np.log2(heard / frequency(event.midi))) < 10


def test_fermata_and_free_time_stay_as_performed(tmp_path: Path) -> None:
    """Nothing is forced onto a grid: odd onsets come out where they are, to a tick (0.5 ms here)."""
    onsets = (0.0, 0.377, 1.9431, 2.22, 5.01)
    events = tuple(Event(at, 0.2, 60 + k, 0.5, "single") for k, at in enumerate(onsets))
    path = tmp_path / "free.mid"
    render_midi(Performance(events, 6.0, 120.0), path)
    assert [onset * 2 for onset, *_ in _notes(path)] == pytest.approx(onsets, abs=0.0011)


def test_bad_wishes_are_said(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"use one of \.mid"):
        render(steps(), tmp_path / "x.mp4")
    with pytest.raises(ValueError, match="16 or 24"):
        render_wav(steps(), tmp_path / "x.wav", bits=8)


@pytest.mark.parametrize("kind", ["flac", "ogg"])
def test_compressed_sound_is_the_same_sound(tmp_path: Path, kind: str) -> None:
    need_module("soundfile", "pip install 'earloop[flac]'")
    import soundfile

    render(steps(4), tmp_path / f"x.{kind}")
    render_wav(steps(4), tmp_path / "x.wav", bits=24)
    squeezed, rate = soundfile.read(tmp_path / f"x.{kind}")
    plain, _ = soundfile.read(tmp_path / "x.wav")
    assert rate == 48000
    size = min(len(squeezed), len(plain))
    error = np.sqrt(((squeezed[:size] - plain[:size]) ** 2).mean()) / np.sqrt((plain**2).mean())
    assert error < (1e-5 if kind == "flac" else 0.2)


def test_a_soundfont_that_is_none_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    """One sentence, and what was rendered before is still there."""
    need_module("fluidsynth", "pip install 'earloop[soundfont]'")
    render(steps(2), tmp_path / "x.wav")
    before = (tmp_path / "x.wav").read_bytes()
    (tmp_path / "no.sf2").write_bytes(b"nothing of the kind")
    with pytest.raises(OutputError, match=r"no\.sf2 is not a SoundFont"):
        render(steps(2), tmp_path / "x.wav", how=Rendering(soundfont=str(tmp_path / "no.sf2")))
    assert (tmp_path / "x.wav").read_bytes() == before


@pytest.mark.fluidsynth
def test_a_soundfont_sounds_in_a_file(tmp_path: Path) -> None:
    """Praat hears the run's pitches within 20 cents in what FluidSynth renders, faster with each pass of the ramp."""
    need_module("fluidsynth", "pip install 'earloop[soundfont]'")
    path = tmp_path / "font.wav"
    how = Rendering(tempo=0.5, ramp=Ramp(1.0, 0.5), soundfont=need_soundfont())
    performance = steps(4, 1.0, 120.0, first=60)
    render_wav(performance, path, 2, how=how)
    pitch = parselmouth.Sound(str(path)).to_pitch_ac(pitch_floor=75, pitch_ceiling=700)
    hertz, seconds = pitch.selected_array["frequency"], pitch.xs()
    for first, length in ((0.0, 1.0), (4.0, 0.5)):
        for number, event in enumerate(performance.events):
            begin = first + number * length
            inside = (seconds > begin + 0.4 * length) & (seconds < begin + 0.9 * length) & (hertz > 0)
            heard = float(np.median(hertz[inside]))
            assert abs(1200 * np.log2(heard / frequency(event.midi))) < 20
