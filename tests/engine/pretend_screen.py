"""A screen's process for the fault matrix: starts an engine on a port, plays, and then does as its last word says."""

from __future__ import annotations

import signal
import sys
import time

from performances import over_a_drone

from earloop.engine.client import Engine
from earloop.sounding.outputs import OutputChoice


def main(port: str, fault: str) -> None:
    # Tests that run in the background, or after the terminal has gone, hand down that both are ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    engine = Engine(OutputChoice("midi", port=port))
    engine.load(over_a_drone())
    engine.start()
    engine.play(counted=False)
    print(engine.process_number, flush=True)
    sys.stdin.readline()
    if fault == "exception":
        raise RuntimeError("a fault of the screen's own")
    if fault == "quit":
        sys.exit(0)
    time.sleep(60)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
