"""Waiting for a moment: asleep until shortly before, asleep once more, then awake.

Once more and not oftener: where other programs want the processor, each waking uses up some of the share of it that
the last one needs.
"""

from __future__ import annotations

import time
from collections.abc import Callable

EARLY = 0.002
"""Seconds before the moment at which long sleeping ends."""
AWAKE = 0.00006
"""Seconds before the moment from which on it only looks at the clock: with the message's own time less than the short
slice that the engine asks for, so that nobody else is let in meanwhile."""

MAKING = 0.00006
"""Seconds between waking and the message being handed over: so much sooner it wakes."""

SLEPT = 0.15
"""Seconds. A moment missed by more means that the machine or the process was asleep: nothing is made up for."""


def wait_until(moment: float, now: Callable[[], float] = time.monotonic) -> float:
    """Returns the time when `moment` has come. Meant for the last few milliseconds."""
    while True:
        left = moment - now()
        if left <= 0:
            return now()
        if left > EARLY:
            time.sleep(left - EARLY)
        elif left > AWAKE:
            time.sleep(left - AWAKE)
