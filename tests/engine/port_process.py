"""A listening port in a process of its own: asked by a line, it tells how many notes began and how many hang, or all.

A JACK server that is killed takes its clients' processes with it or leaves them in a bad way: not the tests' own.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path
from typing import IO, Any

from listening_port import ListeningPort


class FarPort:
    """The tests' side: starts the process and asks it."""

    def __init__(self, name: str) -> None:
        words = [sys.executable, __file__, name]
        environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[1])}
        pipe = subprocess.PIPE
        self._process = subprocess.Popen(
            words, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True, env=environment
        )
        self._in, self._out = _there(self._process.stdin), _there(self._process.stdout)
        assert self._out.readline() == "open\n"

    def notes(self) -> tuple[int, int]:
        """(how many began, how many hang)"""
        self._in.write("tell\n")
        self._in.flush()
        began, hanging = self._out.readline().split()
        return int(began), int(hanging)

    def messages(self) -> list[list[int]]:
        """All that has come, in order."""
        self._in.write("messages\n")
        self._in.flush()
        return [list(map(int, words)) for words in json.loads(self._out.readline())]

    def end(self) -> None:
        self._process.kill()
        self._process.wait(10)


def _there(pipe: IO[str] | None) -> IO[str]:
    assert pipe is not None
    return pipe


def main(name: str) -> None:
    port: Any = ListeningPort(name)
    print("open", flush=True)
    while asked := sys.stdin.readline():
        if asked == "messages\n":
            print(json.dumps([words for _, words in port.messages()]), flush=True)
        else:
            print(len(port.note_ons()), len(port.hanging()), flush=True)
    time.sleep(0.1)


if __name__ == "__main__":
    main(sys.argv[1])
