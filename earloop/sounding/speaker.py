"""The speaker: an instrument's stream on the machine's sound device, pulled block by block by miniaudio."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator
from typing import Any

from earloop.performing.events import Strand
from earloop.sounding.devices import first_that_opens, real_backends
from earloop.sounding.instrument import Instrument
from earloop.sounding.outputs import HOW_TO_GET_SOUND, OutputError
from earloop.sounding.quiet import quiet_stderr

PERIODS = {False: (25, 4), True: (10, 3)}
"""Milliseconds and count of the device's periods, by `low_latency`. miniaudio's own default is far too long."""

STALLED = 2.0
"""Seconds without a request after which the device counts as lost."""


class Speaker:
    """Opened, it asks `advance(until_seconds)` to plan each block and then has the instrument render it."""

    name = "speaker"

    def __init__(self, instrument: Instrument, low_latency: bool = False, backend: str = "") -> None:
        self.instrument = instrument
        self.period, self.count = PERIODS[low_latency]
        self.backend = backend
        self.requested = 0.0
        self.handed_at = 0.0
        self.changed_at = 0.0
        self.thread = 0
        self._change_waits = False
        self._lock: Any = threading.Lock()
        self._advance: Callable[[float], None] = lambda until: None
        self._device: Any = None
        self._opened = False

    def open(self) -> None:
        """Raises OutputError where the machine has no sound device."""
        import miniaudio

        backends = real_backends(miniaudio, self.backend)
        if not self._opened:
            self.instrument.open()
            self._opened = True
        with quiet_stderr():
            try:
                self._device = first_that_opens(backends, self._on)
            except miniaudio.MiniaudioError as error:
                raise OutputError(f"no sound device was found; {HOW_TO_GET_SOUND}") from error
            stream = self._blocks()
            next(stream)
            self.requested = time.monotonic()
            try:
                self._device.start(stream)
            except miniaudio.MiniaudioError as error:
                self._device.close()
                self._device = None
                raise OutputError(f"the sound device does not start; {HOW_TO_GET_SOUND}") from error

    def _on(self, backend: Any) -> Any:
        import miniaudio

        return miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.FLOAT32,
            nchannels=2,
            sample_rate=self.instrument.rate,
            buffersize_msec=self.period,
            callback_periods=self.count,
            backends=[backend],
            app_name="earloop",
        )

    def pull(self, advance: Callable[[float], None], lock: Any) -> None:
        """From now on each block asks `advance(until_seconds)` first, holding `lock`."""
        with self._lock:
            self._advance = advance
        self._lock = lock

    def change_waits(self) -> None:
        """A command was obeyed: `changed_at` will say when the first block with its effect was asked for."""
        self._change_waits = True

    def close(self) -> None:
        if self._device is not None:
            with quiet_stderr():
                self._device.close()
            self._device = None
        if self._opened:
            self.instrument.close()
            self._opened = False

    @property
    def lost(self) -> bool:
        """Whether the device has stopped asking for sound."""
        return self._device is not None and time.monotonic() - self.requested > STALLED

    def was_asleep(self) -> None:
        """The process or the machine slept: the device gets its time anew."""
        self.requested = time.monotonic()

    def heard(self) -> float:
        """The second of the stream that leaves the device now, as far as its buffers tell."""
        since = min(time.monotonic() - self.requested, self.period / 1000)
        return self.now() - self.period * self.count / 1000 + since

    def now(self) -> float:
        return self.instrument.now()

    def start(self, midi: int, cents: float, loudness: float, strand: Strand, at: float, legato: bool = False) -> int:
        return self.instrument.start(midi, cents, loudness, strand, at, legato)

    def stop(self, voice: int, at: float) -> None:
        self.instrument.stop(voice, at)

    def level(self, level: float) -> None:
        self.instrument.level(level)

    def silence(self) -> None:
        self.instrument.silence()

    def _blocks(self) -> Generator[Any, int, None]:
        instrument = self.instrument
        was_sounding = False
        frames = yield b""
        self.thread = threading.get_native_id()
        while True:
            with self._lock:
                self.requested = time.monotonic()
                if self._change_waits:
                    self.changed_at, self._change_waits = self.requested, False
                self._advance((instrument.frame + frames) / instrument.rate)
                block = instrument.render(frames)
                if instrument.sounding and not was_sounding:
                    self.handed_at = time.monotonic()
                was_sounding = bool(instrument.sounding)
            frames = yield block.data.cast("B")
