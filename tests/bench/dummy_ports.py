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

from tests.jack_process import JackServer

LISTENER = """
import rtmidi, sys, time
port = rtmidi.MidiIn(rtapi=rtmidi.API_UNIX_JACK, name=sys.argv[1])
port.open_virtual_port("in")
time.sleep(100000)
"""


def jack_is_here() -> bool:
    """Whether real ports can be had."""
    return shutil.which("jackd") is not None and importlib.util.find_spec("rtmidi") is not None


def started(name: str) -> JackServer:
    """A server of this process alone; every program begun afterwards finds it."""
    server = JackServer(f"{name}{os.getpid()}")
    server.start()
    os.environ |= server.environment
    return server


def listener_called(name: str) -> subprocess.Popen[bytes]:
    """A process that holds a port of that name."""
    process = subprocess.Popen([sys.executable, "-c", LISTENER, name], stderr=subprocess.DEVNULL)
    time.sleep(1.0)
    return process


@contextmanager
def ports_for_bench() -> Iterator[str]:
    """The name of a port that takes everything, held by a process of its own; empty where there is no JACK."""
    if not jack_is_here():
        yield ""
        return
    server = started("earloopbench")
    listener = listener_called("bench")
    try:
        yield "bench" if listener.poll() is None else ""
    finally:
        listener.terminate()
        listener.wait(10)
        server.terminate()
