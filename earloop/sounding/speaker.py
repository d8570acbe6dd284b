"""The speaker: the built-in synth on the machine's sound device, pulled block by block by miniaudio."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator
from typing import Any

from earloop.sounding.outputs import HOW_TO_GET_SOUND, OutputError
from earloop.sounding.quiet import quiet_stderr
from earloop.sounding.synth import RATE, Synth

PERIODS = {False: (25, 4), True: (10, 3)}
"""Milliseconds and count of the device's periods, by `low_latency`. miniaudio's own default is far too long."""

STALLED = 2.0
"""Seconds without a request after which the device counts as lost."""


class Speaker(Synth):
    """Opened, it asks `advance(until_seconds)` to plan each block and then renders it."""

    def __init__(self, low_latency: bool = False, backend: str = "", rate: int = RATE) -> None:
        super().__init__(rate)
        self.period, self.count = PERIODS[low_latency]
        self.backend = backend
        self.name = "speaker"
        self.lock: Any = threading.Lock()
        self.advance: Callable[[float], None] = lambda until: None
        self.last_request = 0.0
        self.first_sound: float | None = None
        self._device: Any = None

    def open(self) -> None:
        """Raises OutputError where the machine has no sound device."""
        import miniaudio

        backends = [miniaudio.Backend[self.backend.upper()]] if self.backend else real_backends(miniaudio)
        with quiet_stderr():
            try:
                self._device = miniaudio.PlaybackDevice(
                    output_format=miniaudio.SampleFormat.FLOAT32,
                    nchannels=2,
                    sample_rate=self.rate,
                    buffersize_msec=self.period,
                    callback_periods=self.count,
                    backends=backends,
                    app_name="earloop",
                )
            except miniaudio.MiniaudioError as error:
                raise OutputError(f"no sound device was found; {HOW_TO_GET_SOUND}") from error
            stream = self._blocks()
            next(stream)
            self.last_request = time.monotonic()
            try:
                self._device.start(stream)
            except miniaudio.MiniaudioError as error:
                self._device.close()
                raise OutputError(f"the sound device does not start; {HOW_TO_GET_SOUND}") from error

    def pull(self, advance: Callable[[float], None], lock: Any) -> None:
        """From now on each block asks `advance(until_seconds)` first, holding `lock`."""
        with self.lock:
            self.advance = advance
        self.lock = lock

    def close(self) -> None:
        if self._device is not None:
            with quiet_stderr():
                self._device.close()
            self._device = None
        super().close()

    @property
    def lost(self) -> bool:
        """Whether the device has stopped asking for sound."""
        return self._device is not None and time.monotonic() - self.last_request > STALLED

    def heard(self) -> float:
        """The second of the stream that leaves the device now, as far as its buffers tell."""
        since = min(time.monotonic() - self.last_request, self.period / 1000)
        return self.now() - self.period * self.count / 1000 + since

    def _blocks(self) -> Generator[bytes | memoryview, int, None]:
        frames = yield b""
        while True:
            with self.lock:
                self.last_request = time.monotonic()
                self.advance((self.frame + frames) / self.rate)
                if self.first_sound is None and self.sounding:
                    self.first_sound = time.monotonic()
                block = self.render(frames)
            frames = yield block.data.cast("B")


def real_backends(miniaudio: Any) -> list[Any]:
    """All but `null`, which would run silently and pass for sound."""
    return [backend for backend in miniaudio.Backend if backend.name not in ("NULL", "CUSTOM")]
