"""Whether a JACK server has died. Its clients' ports stay listed and take messages afterwards, so they don't tell.

A client is connected to its server by a local socket, whose other end has a process number: that process is watched.
Only where the system offers both (Linux); elsewhere nothing is watched.
"""

from __future__ import annotations

import contextlib
import os
import select
import socket
import struct

LEFT_BEHIND: list[object] = []
"""Clients of a dead server. libjack frees them itself when it connects anew, so nobody else may touch them again."""
CREDENTIALS = struct.Struct("3i")
"""SO_PEERCRED of Linux: process, user, group."""


class ServerWatch:
    """`look` says whether the server has gone; `gone` is what it said last."""

    def __init__(self) -> None:
        self.gone = False
        self._process: int | None = None

    def open(self) -> bool:
        """Whether there is a server to watch. Call it while a client is connected."""
        with contextlib.suppress(OSError, AttributeError):
            number = _server()
            self._process = None if number is None else os.pidfd_open(number)
        return self._process is not None

    def look(self) -> bool:
        """Costs next to nothing."""
        if self._process is not None and not self.gone:
            # A process's descriptor can be read from once it has ended.
            self.gone = bool(select.select([self._process], [], [], 0)[0])
        return self.gone

    def close(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            os.close(process)


def _server() -> int | None:
    """The process number of the JACK server that this process is a client of."""
    for name in os.listdir("/proc/self/fd"):
        with contextlib.suppress(OSError):
            if not os.readlink(f"/proc/self/fd/{name}").startswith("socket:"):
                continue
            with socket.socket(fileno=os.dup(int(name))) as ours:
                if ours.family == socket.AF_UNIX and "jack" in str(ours.getpeername()):
                    told = ours.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, CREDENTIALS.size)
                    number = int(CREDENTIALS.unpack(told)[0])
                    if number not in (0, os.getpid()):
                        return number
    return None
