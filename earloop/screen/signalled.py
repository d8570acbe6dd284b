"""Leaving when a signal says so: in good order where the terminal lets us, and in any case after a few seconds.

Where the terminal has gone or takes nothing any more, what draws waits for it for ever, and with it the loop that runs
everything. So the sound is stopped, and at the latest the program is ended, from a thread that draws nothing.
"""

from __future__ import annotations

import contextlib
import os
import signal
import threading
import time
from collections.abc import Callable
from types import FrameType

PATIENCE = 4.0
"""Seconds that leaving in good order may take."""


def mind_signals(leave: Callable[[int], object], silence: Callable[[], object], let_go: Callable[[], object]) -> None:
    """On SIGTERM and SIGHUP `silence`, and `leave` with 128 + the signal's number; `let_go` before ending by force."""

    def signalled(number: int, frame: FrameType | None) -> None:
        code = 128 + number
        threading.Thread(target=_end, args=(code, silence, let_go), name="earloop leaving", daemon=True).start()
        leave(code)

    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None:
            with contextlib.suppress(OSError, ValueError):
                signal.signal(number, signalled)


def _end(code: int, silence: Callable[[], object], let_go: Callable[[], object]) -> None:
    with contextlib.suppress(Exception):
        silence()
    time.sleep(PATIENCE)
    with contextlib.suppress(Exception):
        let_go()
    os._exit(code)
