"""A JACK server without sound hardware, as a process to start, to kill and to end: for tests and benches alike."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

CLIENT = "import rtmidi; rtmidi.MidiOut(rtapi=rtmidi.API_UNIX_JACK, name='waiting').delete()"


class JackServer:
    """Kill it as often as you like, but `end` it at last. `log` takes what it says."""

    def __init__(self, name: str, log: Path = Path(os.devnull)) -> None:
        self.name, self.log = name, log
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def environment(self) -> dict[str, str]:
        """What leads a program to this server."""
        return {"JACK_DEFAULT_SERVER": self.name, "JACK_NO_START_SERVER": "1"}

    def start(self, *options: str) -> None:
        """Returns once it answers. Not synchronous unless the options say so: a synchronous server holds up new
        clients for seconds when one of its clients is killed."""
        words = ["jackd", "--no-realtime", *options, "-n", self.name, "-d", "dummy", "-r", "48000", "-p", "256"]
        with self.log.open("wb") as out:
            self.process = subprocess.Popen(words, stdout=out, stderr=out)
        self._wait(self.process)

    def kill(self) -> None:
        if self.process is not None:
            self.process.kill()
            self.process.wait(10)
            self.process = None

    def terminate(self) -> None:
        """In good order."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(10)
            self.process = None

    def end(self) -> None:
        """A killed server keeps its place among the eight a machine can have, until one of the same name has begun
        and ended in good order; and one that lost clients by force may take seconds to end."""
        self.kill()
        self.start()
        self.terminate()

    def _wait(self, process: subprocess.Popen[bytes]) -> None:
        """Until a client can connect, in another process: this one is to have to do with one server only."""
        for _ in range(50):
            time.sleep(0.1)
            if process.poll() is not None:
                raise RuntimeError(f"jackd left: {self.log.read_text()}")
            words = [sys.executable, "-c", CLIENT]
            if subprocess.run(words, env=os.environ | self.environment, capture_output=True).returncode == 0:
                return
        raise RuntimeError(f"jackd does not answer: {self.log.read_text()}")
