"""Programs that decide as fast as they can and are killed at any moment: what each had told, and what it left."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
# It forks, as starting Python is the slow part. Whole rows by os.write: a kill may cut what print writes.
HOST = """
import os, sys, time
from pathlib import Path
from earloop.reading import Decisions
from {module} import {keeper}
from tests.made_lines import line_of
line = line_of("C4 D4 E4 F4 G4 A4 B4 C5 " * 40, 0.5)
for name in sys.stdin:
    child = os.fork()
    if child:
        os.waitpid(child, 0)
        os.write(1, b"\\ndead\\n")
        continue
    folder = Path(name.strip())
    print(os.getpid(), flush=True)
    one = {keeper}(folder / "tune.abc", line, folder / "data")
    for k in range(100_000):
        one.{act}(Decisions(levels={{(k + j) % 320: j % 6 for j in range(20)}}, words={{0: str(k)}}))
        os.write(1, b"%d\\n" % k)
        time.sleep({step})
"""


def killed_while_deciding(
    keeper: type, act: str, step: float, folder: Path, moments: list[float]
) -> Iterator[tuple[Path, list[int]]]:
    """For each of `moments` (seconds after starting) a kill: the kept file it leaves, and the decisions it had told.

    Decision k writes the word k over the first tone, by the method `act` of a `keeper`; then `step` seconds pass.
    """
    code = HOST.format(module=keeper.__module__, keeper=keeper.__name__, act=act, step=step)
    with subprocess.Popen(
        [sys.executable, "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as host:
        assert host.stdin
        assert host.stdout
        for trial, moment in enumerate(moments):
            own = folder / f"t{trial}"
            own.mkdir()
            host.stdin.write(f"{own}\n")
            host.stdin.flush()
            child = int(host.stdout.readline())
            time.sleep(moment)
            os.kill(child, signal.SIGKILL)
            told: list[int] = []
            while (row := host.stdout.readline()) != "dead\n":
                assert row, "the program that decides has ended"
                told += map(int, row.split())
            yield own / "tune.abc.earloop.toml", told
        host.stdin.close()


def moments_up_to(longest: float, count: int, seed: int) -> list[float]:
    dice = random.Random(seed)
    return [dice.uniform(0.0, longest) for _ in range(count)]
