"""Real MIDI ports in a machine without sound hardware: a JACK server on its dummy driver."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from system_parts import need_module, need_program

FROM_3_13 = "pip install 'earloop[midi]' (Python 3.13 and later compile it: libasound2-dev, libjack-jackd2-dev, g++)"


class JackServer:
    """A server without sound hardware, to be started and killed."""

    def __init__(self, name: str, log: Path) -> None:
        self.name, self.log = name, log
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def environment(self) -> dict[str, str]:
        return {"JACK_DEFAULT_SERVER": self.name, "JACK_NO_START_SERVER": "1"}

    def start(self) -> None:
        """Not synchronous: such a server holds up new clients for seconds when one of its clients is killed."""
        words = ["jackd", "--no-realtime", "-n", self.name, "-d", "dummy", "-r", "48000", "-p", "256"]
        with self.log.open("wb") as out:
            self.process = subprocess.Popen(words, stdout=out, stderr=out)
        _wait_for_server(self.process, self.log, self.name)

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait(10)
            self.process = None

    def end(self) -> None:
        """A killed server keeps its place among the eight a machine can have, until one of the same name has begun
        and ended in good order; and one that lost clients by force may take seconds to end."""
        self.kill()
        self.start()
        if self.process is not None:
            self.process.terminate()
            self.process.wait(10)


@pytest.fixture
def mortal_jack(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[JackServer]:
    """A server that a test may kill and start again; programs started meanwhile find it."""
    need_program("jackd")
    need_module("rtmidi", FROM_3_13)
    server = JackServer(f"mortal{os.getpid()}", tmp_path / "jackd.log")
    for key, value in server.environment.items():
        monkeypatch.setenv(key, value)
    server.start()
    yield server
    server.end()


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
        _wait_for_server(server, log, name)
        yield name
    finally:
        server.terminate()
        server.wait(10)
        for key, value in before.items():
            if value is None:
                os.environ.pop(key, None)
            else:
                os.environ[key] = value


def _wait_for_server(server: subprocess.Popen[bytes], log: Path, name: str) -> None:
    """Until a client can connect, in another process: this one is to have to do with one server only."""
    code = "import rtmidi; rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name='waiting').delete()"
    environment = os.environ | {"JACK_DEFAULT_SERVER": name, "JACK_NO_START_SERVER": "1"}
    for _ in range(50):
        time.sleep(0.1)
        assert server.poll() is None, f"jackd left: {log.read_text()}"
        if subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True).returncode == 0:
            return
    pytest.fail(f"jackd does not answer: {log.read_text()}")
