"""What can be listened to on a machine whose only sound system with a device is JACK."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest
import soundfile

from earloop.capture.microphone import Microphone, describe_microphones, microphone_names
from earloop.capture.sources import Source, SourceError
from earloop.capture.sources_there import check_there
from earloop.hearing.pitch_track import Floats
from earloop.sounding.described import describe_outputs, outputs
from earloop.sounding.devices import devices
from earloop.sounding.speaker import Speaker
from earloop.sounding.synth import Synth


@pytest.fixture
def only_jack(jack: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """A developer's machine may have others: ALSA is told of none, PulseAudio's server is nowhere."""
    monkeypatch.setenv("PULSE_SERVER", "unix:/nonexistent")
    monkeypatch.setenv("ALSA_CONFIG_PATH", "/dev/null")
    return jack


@pytest.mark.jack
def test_jack_is_listed_by_the_name_by_which_it_can_be_listened_to(only_jack: str) -> None:
    names = microphone_names()
    assert names
    assert describe_microphones() == ["Microphones:", *(f"  {name}" for name in names)]
    assert {device.backend.name for device in devices("in")} == {"JACK"}
    heard = threading.Event()

    def received(block: Floats, moment: float) -> None:
        heard.set()

    for name in ("", *names):
        check_there(Source("microphone", name))
        microphone, _ = Microphone(Source("microphone", name)), heard.clear()
        microphone.open(received)
        try:
            assert heard.wait(5.0), name
        finally:
            microphone.close()
    with pytest.raises(SourceError, match=names[0]):
        check_there(Source("microphone", "no such one"))


@pytest.mark.jack
def test_what_can_be_sounded_on_is_listed_too(only_jack: str) -> None:
    found = outputs()
    assert found.speakers
    assert describe_outputs(found)[: 1 + len(found.speakers)] == ["Sound devices:", *(f"  {n}" for n in found.speakers)]


@pytest.mark.jack
def test_the_speaker_sounds_on_jack_where_alsa_has_no_device(only_jack: str) -> None:
    """Without a backend named: what `ports` lists is what sounds."""
    speaker = Speaker(Synth())
    asked = threading.Event()
    speaker.open()
    try:
        speaker.pull(lambda until: asked.set(), threading.Lock())
        assert asked.wait(5.0)
    finally:
        speaker.close()


def test_a_recording_is_looked_at_but_not_decoded_before_it_is_listened_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import miniaudio

    def never(*values: object, **words: object) -> None:
        raise AssertionError("decoded as a whole")

    monkeypatch.setattr(miniaudio, "decode", never)
    for ending in ("wav", "flac"):
        path = tmp_path / f"take.{ending}"
        soundfile.write(path, np.zeros(48000), 48000)
        check_there(Source("file", str(path)))
        path.write_bytes(path.read_bytes()[:20])
        with pytest.raises(SourceError, match=path.name):
            check_there(Source("file", str(path)))
    soundfile.write(tmp_path / "none.wav", np.zeros(0), 48000)
    with pytest.raises(SourceError, match="holds no sound"):
        check_there(Source("file", str(tmp_path / "none.wav")))
