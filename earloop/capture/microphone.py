"""The microphone: blocks of mono sound at 48 kHz from the machine's sound device, through miniaudio."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator
from typing import Any

import numpy as np

from earloop.capture.decimation import DEVICE_RATE
from earloop.capture.sources import HOW_TO_BE_HEARD, Source, SourceError
from earloop.hearing.pitch_track import Floats
from earloop.sounding.devices import Device, devices, first_that_opens, real_backends
from earloop.sounding.midi_port import match
from earloop.sounding.quiet import quiet_stderr

PERIOD, PERIODS = 10, 4
"""Milliseconds and count of the device's periods: a trace within 150 ms leaves no room for long ones."""
STALLED = 2.0
"""Seconds without a block after which the device counts as lost."""
SILENT = 3.0
"""Seconds of nothing but zeros after which we say that it gives silence."""

Received = Callable[[Floats, float], None]
"""Takes a block and the monotonic second it was in hand; called in the device's own thread."""


class Microphone:
    """Open it with what is to take the blocks; close it when done."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.sentence = source.sentence
        self._device: Any = None
        self._identity: Any = None
        self._last = 0.0
        self._sounded = 0.0

    def open(self, received: Received) -> None:
        """Raises SourceError where there is no such microphone."""
        import miniaudio

        with quiet_stderr():
            backends = self._backends(miniaudio)
            try:
                self._device = first_that_opens(backends, self._on)
            except miniaudio.MiniaudioError as error:
                raise SourceError(f"no microphone was found; {HOW_TO_BE_HEARD}") from error
            self._last = self._sounded = time.monotonic()
            stream = self._blocks(received, self._device.nchannels)
            next(stream)
            try:
                self._device.start(stream)
            except miniaudio.MiniaudioError as error:
                self.close()
                raise SourceError(f"the microphone does not start; {HOW_TO_BE_HEARD}") from error
        if not self.source.name:
            self.sentence = f"microphone (the system's own, {self._device.backend})"

    @property
    def lost(self) -> bool:
        """Whether the device has stopped giving sound."""
        return self._device is not None and time.monotonic() - self._last > STALLED

    @property
    def notice(self) -> str:
        """A sentence where it gives nothing but silence."""
        if self._device is None or time.monotonic() - self._sounded < SILENT:
            return ""
        return "the microphone gives pure silence: see whether it is muted, or choose another one"

    def close(self) -> None:
        if self._device is not None:
            with quiet_stderr():
                self._device.close()
            self._device = None

    def _backends(self, miniaudio: Any) -> list[Any]:
        """Those to try; with a name, the one that has the device. The device's identity is kept."""
        if not self.source.name:
            return real_backends(miniaudio, self.source.backend)
        device = _device_named(self.source)
        self._identity = device.identity
        return [device.backend]

    def _on(self, backend: Any) -> Any:
        """One channel, which the system mixes itself; JACK has as many as its ports and takes no other number."""
        import miniaudio

        return miniaudio.CaptureDevice(
            input_format=miniaudio.SampleFormat.FLOAT32,
            nchannels=2 if backend == miniaudio.Backend.JACK else 1,
            sample_rate=DEVICE_RATE,
            buffersize_msec=PERIOD,
            callback_periods=PERIODS,
            device_id=self._identity,
            backends=[backend],
            app_name="earloop listening",
        )

    def _blocks(self, received: Received, channels: int) -> Generator[None, Any, None]:
        while True:
            data = yield
            self._last = time.monotonic()
            samples = np.frombuffer(data, dtype=np.float32).astype(np.float64)
            if channels > 1:
                # The sum, not the mean: a microphone on one side of two would lose half its loudness.
                samples = samples.reshape(-1, channels).sum(axis=1)
            if samples.any():
                self._sounded = self._last
            received(np.nan_to_num(samples), self._last)


def _device_named(source: Source) -> Device:
    """Raises SourceError with the names that are there."""
    there = devices("in", source.backend)
    index = match(source.name, [device.name for device in there])
    if index is None:
        names = ", ".join(repr(device.name) for device in there) or "none at all"
        raise SourceError(f"no microphone is called {source.name!r}; there is {names}; {HOW_TO_BE_HEARD}")
    return there[index]


def microphone_there(source: Source) -> None:
    """Raises SourceError, with the names that are there, where no microphone is meant by the source's name."""
    _device_named(source)


def microphone_names() -> list[str]:
    """The microphones of this machine; empty where there is none. Takes a moment."""
    return [device.name for device in devices("in")]


def describe_microphones() -> list[str]:
    """Lines for `earloop ports`."""
    names = microphone_names()
    if not names:
        return ["Microphones: none: plug one in, or answer on a MIDI keyboard"]
    return ["Microphones:", *(f"  {name}" for name in names)]
