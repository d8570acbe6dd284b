"""RealtimeKit, the usual service of a Linux desktop for programs whose user has no right to a higher priority.

Asked over the system's D-Bus. Its interface is published with it as org.freedesktop.RealtimeKit1.xml:
MakeThreadRealtime (thread, priority), MakeThreadHighPriority (thread, nice value), and the properties
MaxRealtimePriority, MinNiceLevel and RTTimeUSecMax. It gives only to a process that lets the kernel end it when a
real-time thread runs for longer than RTTimeUSecMax without waiting for anything (RLIMIT_RTTIME, see getrlimit(2)), and
only to the thread named: what that one starts doesn't inherit it (SCHED_RESET_ON_FORK, see sched(7)).
"""

from __future__ import annotations

from typing import Any

NAME = "org.freedesktop.RealtimeKit1"
PLACE = "/org/freedesktop/RealtimeKit1"
PATIENCE = 2.0
"""Seconds for an answer: the bus may have to start the service first. Nobody waits for it but the thread that asks."""


class NotGiven(Exception):
    """RealtimeKit refuses."""


class RealtimeKit:
    """A connection to it. Everything here may take PATIENCE, and raise OSError, NotGiven, or whatever a bus brings."""

    def __init__(self) -> None:
        from jeepney import DBusAddress
        from jeepney.io.blocking import open_dbus_connection

        self._address = DBusAddress(PLACE, bus_name=NAME, interface=NAME)
        self._bus = open_dbus_connection(bus="SYSTEM")

    def close(self) -> None:
        self._bus.close()

    def longest(self) -> int:
        """Microseconds that a real-time thread may run without waiting."""
        return self._number("RTTimeUSecMax")

    def real_time(self, thread: int, priority: int) -> None:
        """Round robin at `priority`, or at the highest one allowed if that is lower."""
        self._ask("MakeThreadRealtime", "tu", thread, min(priority, self._number("MaxRealtimePriority")))

    def nicest(self) -> int:
        """The lowest nice value it gives."""
        return self._number("MinNiceLevel")

    def higher(self, thread: int, nice: int) -> None:
        self._ask("MakeThreadHighPriority", "ti", thread, nice)

    def _number(self, name: str) -> int:
        from jeepney import Properties

        ((_, value),) = self._answer(Properties(self._address).get(name))
        return int(value)

    def _ask(self, method: str, signature: str, *values: int) -> None:
        from jeepney import new_method_call

        self._answer(new_method_call(self._address, method, signature, values))

    def _answer(self, message: Any) -> Any:
        from jeepney import MessageType

        reply = self._bus.send_and_get_reply(message, timeout=PATIENCE)
        if reply.header.message_type is MessageType.error:
            raise NotGiven(f"{reply.body}")
        return reply.body
