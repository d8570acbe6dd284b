"""A voice at the microphone of a machine without sound hardware: it sings into a JACK server, wired to the listener."""

from __future__ import annotations

import subprocess
import threading
import time
from typing import Any

import numpy as np
from system_parts import need_program

RATE = 48000
LISTENING = "earloop listening:capture0"


def wired(output: str, seconds: float = 10.0) -> None:
    """Wire a client's output to the listener; both may still be on their way."""
    connect = need_program("jack_connect")
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        done = subprocess.run([connect, output, LISTENING], capture_output=True, text=True)
        if done.returncode == 0 and "not a valid port" not in done.stderr:
            return
        time.sleep(0.1)
    raise AssertionError(f"{output} can't be wired to {LISTENING}: {done.stderr}")


class JackVoice:
    """`sing` mono samples at 48 kHz from now on; `begun` is when their first block was handed to the device."""

    def __init__(self, name: str = "earloop test voice") -> None:
        import miniaudio

        self.name = name
        self.begun = 0.0
        self._lock = threading.Lock()
        self._left = np.zeros(0, dtype=np.float32)
        self._fresh = False
        self._device: Any = miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.FLOAT32,
            nchannels=2,
            sample_rate=RATE,
            buffersize_msec=10,
            callback_periods=2,
            backends=[miniaudio.Backend.JACK],
            app_name=name,
        )
        stream = self._blocks()
        next(stream)
        self._device.start(stream)

    def __enter__(self) -> JackVoice:
        return self

    def __exit__(self, *error: object) -> None:
        self._device.close()

    def wire(self) -> None:
        wired(f"{self.name}:playback0")

    def sing(self, sound: np.ndarray) -> None:
        with self._lock:
            self._left, self._fresh = np.asarray(sound, dtype=np.float32), True

    @property
    def singing(self) -> bool:
        return len(self._left) > 0

    def _blocks(self):
        frames = yield b""
        while True:
            with self._lock:
                if self._fresh and len(self._left):
                    self.begun, self._fresh = time.monotonic(), False
                part, self._left = self._left[:frames], self._left[frames:]
            block = np.zeros((frames, 2), dtype=np.float32)
            block[: len(part)] = part[:, None]
            frames = yield block.tobytes()
