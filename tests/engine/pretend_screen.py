"""A screen's process for the fault matrix: starts an engine on a port, plays, and then does as its last word says."""

from __future__ import annotations

import sys
import time

from performances import over_a_drone

from earloop.engine.client import Engine
from earloop.sounding.outputs import OutputChoice


def main(port: str, fault: str) -> None:
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
