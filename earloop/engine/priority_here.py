"""Which priority the player would be given on this machine, for people who want to know."""

from __future__ import annotations

import contextlib
import os
import sys

from earloop.engine.steadiness import back_to_ordinary, real_time_allowed
from earloop.engine.urgency import HIGHER, REAL_TIME, granted

TITLE = "Priority of the player"
BY_LIMITS = "real time, as this user's limits allow"
BY_KIT = {REAL_TIME: "real time, from RealtimeKit", HIGHER: "higher than other programs', from RealtimeKit"}
ORDINARY = "that of any program; where tones come unevenly beside busy ones, install RealtimeKit (Debian's name: rtkit)"


def describe_priority() -> list[str]:
    """A line for `earloop ports`; none but on Linux. Asks as the player does, and gives back what it got."""
    if sys.platform != "linux":
        return []
    with contextlib.suppress(OSError, ImportError):
        real_time_allowed()
        back_to_ordinary()
        return [f"{TITLE}: {BY_LIMITS}"]
    given = ""
    # Whatever a bus or a service answers, or doesn't: then it gives nothing.
    with contextlib.suppress(Exception):
        given = granted(os.getpid())
        back_to_ordinary()
    return [f"{TITLE}: {BY_KIT.get(given, ORDINARY)}"]
