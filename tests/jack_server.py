"""Real MIDI ports in a machine without sound hardware: a JACK server on its dummy driver."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from jack_process import JackServer
from system_parts import need_module, need_program

FROM_3_13 = "pip install 'earloop[midi]' (Python 3.13 and later compile it: libasound2-dev, libjack-jackd2-dev, g++)"


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
    need_program("jackd")
    need_module("rtmidi", FROM_3_13)
    server = JackServer(name, folder / "jackd.log")
    before = {key: os.environ.get(key) for key in server.environment}
    os.environ |= server.environment
    try:
        # Synchronous: on a busy machine an asynchronous server goes on without a client that is late, and its events
        # in that period are lost on the way, which no player could help.
        server.start("--sync", "-t", "500")
        yield name
    finally:
        server.terminate()
        for key, value in before.items():
            if value is None:
                os.environ.pop(key, None)
            else:
                os.environ[key] = value
