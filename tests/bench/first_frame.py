"""How long the screen takes: to its first frame, and until a score stands on it, in a pseudo-terminal.

    python -m tests.bench first_frame [score] [rounds]

Prints the median of the rounds; the aim is 0.6 s to the first frame on an idle machine.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import pexpect

PROGRAM = """
import sys
from pathlib import Path
from earloop.screen.app import make_app
app = make_app(Path(sys.argv[1]) if len(sys.argv) > 1 else None)
try:
    app.run()
finally:
    app.close_player()
"""


def one_round(score: list[str]) -> tuple[float, float]:
    """Seconds to the first frame and to the score."""
    start = time.perf_counter()
    child = pexpect.spawn(sys.executable, ["-c", PROGRAM, *score], dimensions=(24, 80), timeout=60)
    child.expect("one moment")
    frame = time.perf_counter() - start
    child.expect("stopped")
    stood = time.perf_counter() - start
    child.send("q")
    child.expect(pexpect.EOF)
    return frame, stood


if __name__ == "__main__":
    score = [word for word in sys.argv[1:] if Path(word).exists()]
    rounds = next((int(word) for word in sys.argv[1:] if word.isdigit()), 5)
    frames, stands = zip(*(one_round(score) for _ in range(rounds)), strict=True)
    print(f"first frame {statistics.median(frames):.2f} s, score on the stand {statistics.median(stands):.2f} s")
