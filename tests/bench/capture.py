"""How soon a sung tone is told, how often, and at what cost; run it on a machine that does nothing else.

    python -m tests.bench capture               half a minute of tones
    python -m tests.bench capture --seconds 10  sooner, rougher

A voice sings into a JACK server without hardware, whose output is wired to the listener. The time counts from the
moment the tone's first block was handed to the device until the client holds a frame within 50 cents of it: device
buffers of both sides, the window of the pitch track, the pipe. Without jackd: from the moment a frame's middle arrived.
"""

from __future__ import annotations

import argparse
import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from earloop.capture.client import Capture
from earloop.capture.sources import Source
from earloop.hearing.pitch_track import RATE, pitch_track
from earloop.hearing.tones_sung import tones_sung
from tests.capture.rooms import melody, sung_file
from tests.hearing import takes

AIM, RATE_AIM = 0.150, 15.0
NEAR = 0.5
KEYS = (57, 64, 60, 67, 62, 69)
TONE = 0.5
LOOK = 0.002


def vowel(key: int, seconds: float = TONE) -> np.ndarray:
    """A steady sung tone at 48 kHz."""
    quarters = seconds * 60 / 60
    return takes.sung(melody(key, length=quarters), 60.0, 48000, vibrato=0.0)[: round(seconds * 48000)]


def told_after(capture: Capture, begun: float, key: int) -> float | None:
    """Seconds from `begun` until the newest frame is on the key; None where that takes over a second."""
    while time.monotonic() < begun + 1.0:
        frame = capture.latest()
        if frame is not None and frame.midi is not None and frame.moment > begun - 0.1 and abs(frame.midi - key) < NEAR:
            return time.monotonic() - begun
        time.sleep(LOOK)
    return None


def by_voice(capture: Capture, seconds: float) -> list[float | None]:
    """Latencies of tones sung one after the other."""
    from tests.capture.jack_voice import JackVoice

    songs = {key: vowel(key) for key in KEYS}
    with JackVoice() as voice:
        capture.start(Source("microphone", backend="jack"))
        _wait(capture)
        voice.wire()
        time.sleep(1.0)
        out = []
        for k in range(int(seconds / TONE)):
            key = KEYS[k % len(KEYS)]
            voice.begun = 0.0
            voice.sing(songs[key])
            while not voice.begun:
                time.sleep(LOOK)
            out.append(told_after(capture, voice.begun, key))
            while voice.singing:
                time.sleep(LOOK)
        return out


def by_file(capture: Capture, seconds: float) -> list[float | None]:
    """How old each frame is when it is first seen: the middle of its window counts."""
    with tempfile.TemporaryDirectory() as folder:
        song = sung_file(Path(folder) / "song.wav", melody(*KEYS, length=1.0), tempo=60 / TONE)
        capture.start(Source("file", str(song)))
        begun, seen, out = _wait(capture), None, []
        while time.monotonic() < begun + min(seconds, len(KEYS) * TONE):
            frame = capture.latest()
            if frame is not None and frame is not seen:
                seen = frame
                out.append(time.monotonic() - frame.moment)
            time.sleep(LOOK)
        return out


def _wait(capture: Capture) -> float:
    end = time.monotonic() + 10
    while not capture.report().heard_until and time.monotonic() < end:
        time.sleep(LOOK)
    return capture.report().heard_until


def cpu_seconds(number: int | None) -> float:
    """Processor time a process has used; 0 where the system doesn't tell."""
    try:
        fields = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def figures(latencies: list[float | None]) -> str:
    known = np.array([x for x in latencies if x is not None]) * 1000
    if not len(known):
        return "nothing was heard"
    lost = f", {len(latencies) - len(known)} never told" if len(known) < len(latencies) else ""
    late = int(np.sum(known > AIM * 1000))
    return (
        f"median {np.median(known):.0f}  p95 {np.percentile(known, 95):.0f}  worst {known.max():.0f} ms of "
        f"{len(known)}; over {AIM * 1000:.0f} ms: {late}{lost}"
    )


def main() -> None:
    words = argparse.ArgumentParser()
    words.add_argument("--seconds", type=float, default=30.0)
    seconds = words.parse_args().seconds
    jack = shutil.which("jackd") is not None and shutil.which("jack_connect") is not None
    with Capture() as capture:
        if jack:
            sys.path.insert(0, str(Path(__file__).parents[1]))
            from jack_server import jack_server

            with tempfile.TemporaryDirectory() as folder, jack_server(f"earloopbench{os.getpid()}", Path(folder)):
                _measure(capture, lambda: by_voice(capture, seconds), "a tone handed to the device is told after")
                capture.close()
        else:
            _measure(capture, lambda: by_file(capture, seconds), "no jackd: a frame's middle is told after")
    _judging()


def _measure(capture: Capture, sing, title: str) -> None:
    begun = time.monotonic()
    latencies = sing()
    spent, used = time.monotonic() - begun, cpu_seconds(capture.process_number)
    moments = np.array([frame.moment for frame in capture.trace(begun)])
    gaps = np.diff(moments)
    print(f"{title}: {figures(latencies)}")
    rate, worst = (len(moments) - 1) / (moments[-1] - moments[0]), gaps.max() * 1000
    print(f"frames: {rate:.0f} a second (aim {RATE_AIM:.0f} or more), longest gap {worst:.0f} ms")
    print(f"the listening process: {100 * used / spent:.1f} % of a core, its start included")


def _judging() -> None:
    sound = takes.sung(melody(*KEYS * 5, length=1.0), 180.0, RATE)
    begun = time.perf_counter()
    tones_sung(pitch_track(sound))
    spent = time.perf_counter() - begun
    print(f"an answer of {len(sound) / RATE:.0f} s becomes tones in {1000 * spent:.0f} ms")


if __name__ == "__main__":
    main()
