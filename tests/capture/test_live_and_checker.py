"""What is traced while one sings is what the judgement hears afterwards: tone by tone, clean and in a room's noise."""

from __future__ import annotations

import numpy as np
import pytest
from system_parts import need_module, need_soundfont

from earloop.capture.live_track import LiveTrack
from earloop.hearing.alignment import folded
from earloop.hearing.pitch_track import RATE, PitchTrack, pitch_track
from earloop.hearing.tones_sung import tones_sung
from tests.bench.checking import rooms, voices
from tests.bench.checking.singing import Habits, Note

KEYS = (62, 69, 65, 67, 60, 64, 71, 62)
NOTES = [Note(k, 0.3 + 0.6 * k, 0.5, float(key)) for k, key in enumerate(KEYS)]
WAYS = Habits(vibrato=25.0, hertz=5.5, slide=0.05, phase=0.0, seed=4)
HOLDS = 0.12
"""Seconds at a tone's beginning, where it slides and the window still holds the tone before it."""
FLUTE, OBOE = (pytest.param(name, marks=pytest.mark.fluidsynth) for name in ("flute", "oboe"))


def sung(voice: str) -> voices.Floats:
    if voice == "vowel":
        return voices.vowel(NOTES, "female", WAYS)
    need_module("fluidsynth", "pip install 'earloop[soundfont]'")
    need_soundfont()
    return voices.instrument(voice, NOTES, "female", WAYS)


def live(sound: voices.Floats) -> PitchTrack:
    """The trace's frames, the sound coming in blocks of 10 ms."""
    track = LiveTrack()
    frames = [f for at in range(0, len(sound), 160) for f in track.feed(sound[at : at + 160])]
    time, midi, loud = (np.array([np.nan if f[k] is None else f[k] for f in frames]) for k in range(3))
    return PitchTrack(time, midi, loud)


def within(track: PitchTrack, note: Note) -> voices.Floats:
    """The pitches in a tone's steady part."""
    inside = (track.time > note.onset + HOLDS) & (track.time < note.end - 0.05) & track.pitched
    return track.midi[inside]


@pytest.mark.parametrize("noise", [None, 10.0])
@pytest.mark.parametrize("voice", ["vowel", FLUTE, OBOE])
def test_trace_and_judgement_agree(voice: str, noise: float | None) -> None:
    """On each tone the degree and its cents; and frame by frame, since both hear the same way."""
    sound = sung(voice)
    if noise is not None:
        sound = rooms.noisy(sound, noise, np.random.default_rng(2))
    traced, heard = live(sound), pitch_track(sound)
    told = tones_sung(heard)
    for note in NOTES:
        middle = float(np.median(folded(100 * (within(traced, note) - note.midi))))
        answer = max(told, key=lambda t: min(t.onset + t.length, note.end) - max(t.onset, note.onset))
        assert abs(middle - float(folded(np.array([100 * (answer.midi - note.midi)]))[0])) < 8
        assert abs(middle) < 50, "another degree than the one sung"
    same = np.searchsorted(heard.time, traced.time - 1e-6)
    both = np.flatnonzero((same < len(heard.time) - 5) & traced.pitched)
    cents = 100 * np.abs(traced.midi[both] - heard.midi[same[both]])
    assert len(both) * 0.02 > 0.8 * sum(note.length for note in NOTES)
    # Where the one's gate is shut, nothing can be compared; where both are open, they are the same.
    assert np.nanmax(cents) < 0.5
    assert np.mean(np.isnan(cents)) < 0.05


def test_the_pitch_itself_is_right_in_noise() -> None:
    """Without octave folding: the pitch itself, as the needle names it."""
    sound = rooms.noisy(sung("vowel"), 10.0, np.random.default_rng(2))
    traced = live(sound)
    off = np.concatenate([within(traced, note) - note.midi for note in NOTES])
    assert len(off) * 0.02 > 0.95 * sum(note.length - HOLDS - 0.05 for note in NOTES)
    assert np.mean(np.abs(off) > 6) < 0.02


def test_blocks_of_any_size_give_the_same_trace() -> None:
    sound = sung("vowel")
    cuts = np.sort(np.random.default_rng(5).integers(0, len(sound), 60))
    track = LiveTrack()
    parts = [frame for part in np.split(sound, cuts) for frame in track.feed(part)]
    whole = LiveTrack().feed(sound)
    assert [f[0] for f in parts] == [f[0] for f in whole]
    ours, theirs = (np.array([f[1] or 0.0 for f in frames]) for frames in (parts, whole))
    np.testing.assert_allclose(ours, theirs, atol=1e-6)
    assert RATE * whole[-1][0] > len(sound) - 0.1 * RATE
