"""Recordings as people have them: WAV of every width, FLAC, MP3, mono and stereo, a telephone's rate to a studio's.

The files are written by libsndfile (the soundfile library), their reader is another one.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from system_parts import leave_out

from earloop.cli.commands import main
from earloop.hearing.pitch_track import RATE, pitch_track
from earloop.hearing.take import read_take
from earloop.hearing.tones_sung import tones_sung
from tests.capture.rooms import melody
from tests.hearing import takes

KEYS = (62, 66, 69, 64)
TUNE = "X:1\nT:Over the Sill\nM:none\nL:1/4\nK:D\nD F A E |]\n"
RATES = (8000, 11025, 16000, 22050, 44100, 48000, 96000)
WAVS = [("wav", "WAV", width) for width in ("PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE")]
LONG_HEADERS = [("wav", "WAVEX", width) for width in ("PCM_24", "FLOAT")]
FLACS = [("flac", "FLAC", width) for width in ("PCM_16", "PCM_24")]
MP3 = ("mp3", "MP3", "MPEG_LAYER_III")
FORMS = [(*form, *kind) for form in WAVS + FLACS for kind in ((16000, 1), (44100, 2))]
FORMS += [("wav", "WAV", "PCM_16", rate, channels) for rate in RATES for channels in (1, 2)]
FORMS += [("flac", "FLAC", "PCM_24", 96000, 2), *((*form, 48000, 2) for form in LONG_HEADERS)]
FORMS += [(*MP3, rate, channels) for rate in (8000, 22050, 44100, 48000) for channels in (1, 2)]


def written(folder: Path, ending: str, container: str, width: str, rate: int, channels: int) -> Path:
    """The melody as a file of that form; in stereo the voice stands somewhat to the left, a hum on the right."""
    if container == "MP3" and "MP3" not in soundfile.available_formats():
        leave_out("this test needs a libsndfile that writes MP3: pip install 'soundfile>=0.12' brings one")
    sound = 0.5 * takes.sung(melody(*KEYS), 144.0, rate, vibrato=20.0)
    if channels == 2:
        hum = 0.002 * np.sin(2 * np.pi * 50 * np.arange(len(sound)) / rate)
        sound = np.stack([sound, 0.6 * sound + hum], axis=1)
    path = folder / f"take.{ending}"
    soundfile.write(path, sound, rate, format=container, subtype=width)
    return path


@pytest.mark.parametrize(("ending", "container", "width", "rate", "channels"), sorted(set(FORMS)))
def test_each_form_is_heard_as_it_was_sung(
    ending: str, container: str, width: str, rate: int, channels: int, tmp_path: Path
) -> None:
    """Keys 62, 66, 69, 64 at their onsets; MP3 begins some tens of milliseconds later (the encoder's own delay)."""
    sound = read_take(written(tmp_path, ending, container, width, rate, channels))
    assert 0.05 < np.max(np.abs(sound)) <= 1.0
    told = tones_sung(pitch_track(sound))
    long = [tone for tone in told if tone.length > 0.2]
    assert [round(tone.midi) for tone in long] == list(KEYS)
    assert [100 * (tone.midi - key) for tone, key in zip(long, KEYS, strict=True)] == pytest.approx([0] * 4, abs=8)
    delay = 0.1 if ending == "mp3" else 0.05
    second = 60 / 144
    assert [tone.onset - k * second for k, tone in enumerate(long)] == pytest.approx([delay / 2] * 4, abs=delay)


@pytest.mark.parametrize("rate", [44100, 48000, 96000])
def test_what_lies_above_the_new_rate_does_not_fold_into_the_voice(rate: int, tmp_path: Path) -> None:
    """A whistle of 15.6 kHz, as of a screen, would come back at 400 Hz (the sampling theorem) and pass for a tone.

    20 dB are asked of the library's filter: so far down, what folds is no louder than a quiet room.
    """
    path = tmp_path / "take.wav"
    soundfile.write(path, 0.3 * np.sin(2 * np.pi * 15600 * np.arange(rate) / rate), rate, subtype="PCM_24")
    sound = read_take(path)[RATE // 10 : -RATE // 10]
    assert 20 * np.log10(np.sqrt(2 * np.mean(sound**2)) / 0.3) < -20


@pytest.mark.parametrize(
    "form", [("wav", "WAV", "PCM_24", 96000, 2), ("flac", "FLAC", "PCM_24", 44100, 2), (*MP3, 44100, 2)]
)
def test_check_takes_them(form: tuple[str, str, str, int, int], tmp_path: Path, capsys) -> None:
    tune = tmp_path / "tune.abc"
    tune.write_text(TUNE, encoding="utf-8")
    take = written(tmp_path, *form)
    assert main(["check", str(tune), "--layer", "ornamented", "--take", str(take), "--json"]) == 0
    assert [tone["verdict"] for tone in json.loads(capsys.readouterr().out)["tones"]] == ["right"] * 4
