"""The listening process: what it reports while it hears, what it answers, what it keeps, and how it leaves."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
import wave
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest

from earloop.capture.client import Capture
from earloop.capture.sources import Source, source_named
from tests.capture.rooms import begun, melody, sung_file, until


def test_a_song_is_traced_while_it_sounds(tmp_path: Path) -> None:
    """Pitch comes 15 times a second or more while the song goes on, and is that of the tone sounding just then."""
    events = melody(62, 69, 67, length=2.0)
    with Capture() as capture:
        capture.start(Source("file", str(sung_file(tmp_path / "song.wav", events))))
        start = begun(capture)
        seen = []
        while time.monotonic() < start + 6 * 60 / 144:
            frame = capture.latest()
            if frame is not None and (not seen or frame is not seen[-1][1]):
                seen.append((time.monotonic(), frame))
            time.sleep(0.005)
        frames = capture.trace(start - 1)
    assert len(frames) / (frames[-1].moment - frames[0].moment) > 15
    assert len({frame.moment for _, frame in seen}) / (seen[-1][0] - seen[0][0]) > 15
    # Generous on a busy machine; tests/bench/capture.py measures it.
    assert float(np.median([now - frame.moment for now, frame in seen])) < 0.25
    second = 60 / 144
    for event in events:
        inside = [
            frame.midi
            for frame in frames
            if frame.midi is not None
            and (event.onset + 0.5) * second < frame.moment - start < (event.onset + event.length - 0.3) * second
        ]
        assert inside
        # The voice swings 80 cents about its tone.
        assert abs(float(np.median(inside)) - event.midi) < 0.6


def test_an_answer_is_what_was_sung_between_two_moments(tmp_path: Path) -> None:
    events = melody(62, 66, 69, 67, length=2.0)
    with Capture() as capture:
        capture.start(Source("file", str(sung_file(tmp_path / "song.wav", events, before=0.5))))
        start = begun(capture)
        number = capture.answer(start + 0.3, start + 4.0)
        answer = capture.answered(10)
    assert answer is not None
    assert answer.number == number
    # A swinging tone may come in pieces; whoever knows what was asked for puts them together.
    tones = [next(piece) for _, piece in groupby(answer.tones, key=lambda tone: round(tone.midi))]
    assert [round(tone.midi) for tone in tones] == [62, 66, 69, 67]
    # The first tone begins half a second after the file does: 0.2 s into the answer.
    assert tones[0].onset == pytest.approx(0.2, abs=0.15)
    assert tones[3].onset - tones[0].onset == pytest.approx(6 * 60 / 144, abs=0.08)


def test_nothing_is_kept_unless_asked(tmp_path: Path) -> None:
    """A take is written only on request, whole, and sounds as it did."""
    song = sung_file(tmp_path / "song.wav", melody(69, length=3.0))
    place = tmp_path / "takes" / "mine.wav"
    with Capture() as capture:
        capture.start(Source("file", str(song)))
        start = begun(capture)
        time.sleep(1.0)
        assert not place.exists()
        capture.keep(place, start, start + 1.0)
        assert until(place.exists)
        kept = []
        assert until(lambda: bool(kept.extend(capture.kept()) or kept))
    assert kept[0].path == str(place)
    assert not kept[0].problem
    with wave.open(str(place)) as file:
        assert file.getframerate() == 48000
        assert file.getnframes() == pytest.approx(48000, abs=2400)
    assert [path.name for path in place.parent.iterdir()] == ["mine.wav"]


def test_a_take_that_cannot_be_kept_is_told(tmp_path: Path) -> None:
    (tmp_path / "takes").write_text("in the way")
    with Capture() as capture:
        capture.start(Source("file", str(sung_file(tmp_path / "song.wav", melody(69)))))
        start = begun(capture)
        capture.keep(tmp_path / "takes" / "mine.wav", start, start + 0.2)
        kept = []
        assert until(lambda: bool(kept.extend(capture.kept()) or kept))
    assert "can't be kept" in kept[0].problem


def test_a_recording_begins_anew(tmp_path: Path) -> None:
    """It answers at each turn, not only when it was chosen; what was heard of it before stays heard."""

    def begins(capture: Capture) -> list[float]:
        heard = [(frame.moment, frame.midi is not None) for frame in capture.trace(0)]
        return [at for (_, before), (at, now) in zip([(0.0, False), *heard], heard, strict=False) if now and not before]

    with Capture() as capture:
        capture.start(Source("file", str(sung_file(tmp_path / "song.wav", melody(62), before=0.2))))
        begun(capture)
        assert until(lambda: (last := capture.latest()) is not None and bool(begins(capture)) and last.midi is None)
        once = begins(capture)
        capture.again()
        assert until(lambda: len(begins(capture)) > len(once)), begins(capture)
        assert begins(capture)[: len(once)] == once


def test_no_such_microphone_is_one_sentence() -> None:
    with Capture() as capture:
        capture.start(Source("microphone", "no such thing", backend="null"))
        assert until(lambda: "no microphone is called 'no such thing'" in capture.report().notice)
        assert "\n" not in capture.report().notice
        # And the process is still there for another source.
        capture.listen(Source("microphone", backend="null"))
        begun(capture)
        assert capture.report().notice == ""


def test_pure_silence_is_told() -> None:
    """miniaudio's null device hears nothing, in real time."""
    with Capture() as capture:
        capture.start(Source("microphone", backend="null"))
        start = begun(capture)
        assert until(lambda: "pure silence" in capture.report().notice, 12)
        assert all(frame.midi is None for frame in capture.trace(start - 1))


def test_a_fallen_process_is_set_up_again(tmp_path: Path) -> None:
    song = sung_file(tmp_path / "song.wav", melody(69, length=20.0))
    with Capture() as capture:
        capture.start(Source("file", str(song)))
        begun(capture)
        first = capture.process_number
        assert first is not None
        os.kill(first, signal.SIGKILL)
        assert until(lambda: capture.process_number not in (None, first))
        before = time.monotonic()
        assert until(lambda: any(frame.midi for frame in capture.trace(before)))


def test_a_closed_pipe_ends_the_process() -> None:
    """As when the screen is killed: nobody goes on listening."""
    capture = Capture()
    capture.start(Source("microphone", backend="null"))
    begun(capture)
    process = capture._process
    assert process is not None
    capture.close()
    assert process.poll() == 0


SCREEN = """
import sys, time
from earloop.capture.client import Capture
from earloop.capture.sources import Source
capture = Capture()
capture.start(Source("microphone", backend="null"))
while not capture.report().heard_until:
    time.sleep(0.01)
print(capture.process_number, flush=True)
time.sleep(100)
"""


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for the process in /proc (Linux)")
def test_a_killed_screen_leaves_nobody_listening() -> None:
    screen = subprocess.Popen([sys.executable, "-c", SCREEN], stdout=subprocess.PIPE, text=True)
    assert screen.stdout is not None
    listener = Path("/proc") / screen.stdout.readline().strip()
    assert listener.is_dir()
    screen.kill()
    screen.wait()
    screen.stdout.close()
    assert until(lambda: not listener.is_dir() or "\nState:\tZ" in (listener / "status").read_text())


def test_words_name_sources() -> None:
    assert source_named("") == Source("microphone")
    assert source_named("USB: left") == Source("microphone", "USB: left")
    assert source_named("midi:Piano") == Source("midi", "Piano")
    assert source_named("file:a/b.wav") == Source("file", "a/b.wav")
    assert source_named("none").kind == "nothing"
