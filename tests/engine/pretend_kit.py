"""A bus of our own in the place of the system's, and on it a service with RealtimeKit's interface that writes down
what it is asked (org.freedesktop.RealtimeKit1.xml, published with RealtimeKit).
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

from system_parts import need_program

NAME = "org.freedesktop.RealtimeKit1"
CONFIGURATION = """<busconfig><type>system</type><listen>unix:path={}</listen><auth>EXTERNAL</auth>
<policy context="default"><allow send_destination="*"/><allow receive_sender="*"/><allow own="*"/></policy></busconfig>
"""
PROPERTIES = {"RTTimeUSecMax": ("x", 200_000), "MaxRealtimePriority": ("i", 20), "MinNiceLevel": ("i", -15)}
Manner = Literal["gives", "gives nice only", "refuses", "never answers"]


@contextlib.contextmanager
def own_bus(folder: Path) -> Iterator[str]:
    """The address of a bus for this test alone."""
    need_program("dbus-daemon")
    configuration = folder / "bus.conf"
    configuration.write_text(CONFIGURATION.format(folder / "bus"), encoding="utf-8")
    words = ["dbus-daemon", f"--config-file={configuration}", "--nofork", "--print-address"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as daemon:
        assert daemon.stdout is not None
        yield daemon.stdout.readline().strip()
        daemon.terminate()


class PretendKit:
    """`asked` holds each request: its name, its values, and for a priority the process's RLIMIT_RTTIME at that moment.

    Real-time priority is really given where the test's own user may give it (root).
    """

    def __init__(self, address: str, manner: Manner = "gives", longest: int = 200_000) -> None:
        from jeepney.bus_messages import message_bus
        from jeepney.io.blocking import open_dbus_connection

        self.asked: list[tuple[str, tuple[Any, ...], str]] = []
        self.given: set[int] = set()
        self.manner: Manner = manner
        self._properties = PROPERTIES | {"RTTimeUSecMax": ("x", longest)}
        self._bus = open_dbus_connection(bus=address)
        self._bus.send_and_get_reply(message_bus.RequestName(NAME))
        self._on = True
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def __enter__(self) -> PretendKit:
        return self

    def __exit__(self, *error: object) -> None:
        self._on = False
        self._thread.join(5)
        self._bus.close()

    def priorities(self) -> list[tuple[str, tuple[Any, ...], str]]:
        return [row for row in self.asked if row[0].startswith("Make")]

    def _serve(self) -> None:
        from jeepney import HeaderFields, MessageType

        while self._on:
            try:
                message = self._bus.receive(timeout=0.05)
            except TimeoutError:
                continue
            if message.header.message_type is MessageType.method_call:
                name = message.header.fields[HeaderFields.member]
                sender = message.header.fields[HeaderFields.sender]
                self.asked.append((name, message.body, self._limits(sender) if name.startswith("Make") else ""))
                if self.manner != "never answers":
                    self._bus.send(self._answer(message, name))

    def _answer(self, message: Any, name: str) -> Any:
        from jeepney import new_error, new_method_return

        if name == "Get":
            return new_method_return(message, "v", (self._properties[message.body[1]],))
        if self.manner == "refuses" or (self.manner == "gives nice only" and name == "MakeThreadRealtime"):
            return new_error(message, "org.freedesktop.DBus.Error.AccessDenied", "s", ("Operation not permitted",))
        thread, value = message.body
        if name == "MakeThreadRealtime":
            with contextlib.suppress(PermissionError):
                os.sched_setscheduler(thread, os.SCHED_RR | os.SCHED_RESET_ON_FORK, os.sched_param(value))
                self.given.add(thread)
        return new_method_return(message)

    def _limits(self, sender: str) -> str:
        """The line of the sender's limits that RealtimeKit itself looks at before it gives anything."""
        from jeepney.bus_messages import message_bus

        asking = message_bus.GetConnectionUnixProcessID(sender)
        (number,) = self._bus.send_and_get_reply(asking).body
        lines = Path(f"/proc/{number}/limits").read_text(encoding="utf-8").splitlines()
        return next(" ".join(line.split()[3:5]) for line in lines if line.startswith("Max realtime timeout"))


@contextlib.contextmanager
def dumb_socket(folder: Path, says: bytes = b"") -> Iterator[str]:
    """An address where somebody listens who is no bus."""
    import socket

    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(folder / "dumb"))
        listening.listen()
        kept: list[socket.socket] = []

        def accept() -> None:
            with contextlib.suppress(OSError):
                while True:
                    kept.append(listening.accept()[0])
                    kept[-1].sendall(says)

        threading.Thread(target=accept, daemon=True).start()
        yield f"unix:path={folder / 'dumb'}"
        for one in kept:
            one.close()
