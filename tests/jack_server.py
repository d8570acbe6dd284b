"""Real MIDI ports in a machine without sound hardware: a JACK server on its dummy driver."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from system_parts import need_module, need_program

FROM_3_13 = "pip install 'earloop[midi]' (Python 3.13 and later compile it: libasound2-dev, libjack-jackd2-dev, g++)"


@pytest.fixture(scope="session")
def jack(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A JACK server without sound hardware, of this test process alone: real ports in a machine with none."""
    with jack_server(f"earloop{os.getpid()}", tmp_path_factory.mktemp("jack")) as name:
        yield name


@contextmanager
def jack_server(name: str, folder: Path) -> Iterator[str]:
    """The server, and the environment that leads to it, for as long as the block lasts."""
    program = need_program("jackd")
    need_module("rtmidi", FROM_3_13)
    log = folder / "jackd.log"
    before = {key: os.environ.get(key) for key in ("JACK_DEFAULT_SERVER", "JACK_NO_START_SERVER")}
    # Synchronous: on a busy machine an asynchronous server goes on without a client that is late, and its events
    # in that period are lost on the way, which no player could help.
    with log.open("wb") as out:
        words = [program, "--no-realtime", "--sync", "-t", "500", "-n", name, "-d", "dummy", "-r", "48000", "-p", "256"]
        server = subprocess.Popen(words, stdout=out, stderr=out)
    os.environ |= {"JACK_DEFAULT_SERVER": name, "JACK_NO_START_SERVER": "1"}
    try:
        _wait_for_server(server, log)
        yield name
    finally:
        server.terminate()
        server.wait(10)
        for key, value in before.items():
            if value is None:
                os.environ.pop(key, None)
            else:
                os.environ[key] = value


def _wait_for_server(server: subprocess.Popen[bytes], log: Path) -> None:
    """Until a client can connect."""
    import rtmidi

    for _ in range(100):
        time.sleep(0.1)
        assert server.poll() is None, f"jackd left: {log.read_text()}"
        try:
            rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name="waiting").delete()
        except (rtmidi.RtMidiError, SystemError):
            continue
        return
    pytest.fail(f"jackd does not answer: {log.read_text()}")
