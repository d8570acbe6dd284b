"""A real MIDI port for the bench, on a JACK server without hardware, where jackd and python-rtmidi are installed."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

LISTENER = """
import rtmidi, sys, time
port = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name=sys.argv[1])
port.open_virtual_port("in")
time.sleep(100000)
"""


def jack_is_here() -> bool:
    """Whether real ports can be had."""
    return shutil.which("jackd") is not None and importlib.util.find_spec("rtmidi") is not None


class DummyServer:
    """Started, every program begun afterwards finds it. Kill it as often as you like, but `end` it at last."""

    def __init__(self, name: str) -> None:
        self.name = f"{name}{os.getpid()}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        words = ["jackd", "--no-realtime", "-n", self.name, "-d", "dummy", "-r", "48000", "-p", "256"]
        self.process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.environ |= {"JACK_DEFAULT_SERVER": self.name, "JACK_NO_START_SERVER": "1"}
        time.sleep(2.0)

    def listener(self, name: str) -> subprocess.Popen[bytes]:
        """A process that holds a port of that name."""
        process = subprocess.Popen([sys.executable, "-c", LISTENER, name], stderr=subprocess.DEVNULL)
        time.sleep(1.0)
        return process

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait(10)
            self.process = None

    def end(self) -> None:
        """In good order: a killed server keeps its place among the eight a machine can have."""
        self.kill()
        self.start()
        if self.process is not None:
            self.process.terminate()
            self.process.wait(10)


@contextmanager
def ports_for_bench() -> Iterator[str]:
    """The name of a port that takes everything, held by a process of its own; empty where there is no JACK."""
    if not jack_is_here():
        yield ""
        return
    server = DummyServer("earloopbench")
    server.start()
    listener = server.listener("bench")
    try:
        yield "bench" if listener.poll() is None else ""
    finally:
        listener.terminate()
        listener.wait(10)
        if server.process is not None:
            server.process.terminate()
            server.process.wait(10)
