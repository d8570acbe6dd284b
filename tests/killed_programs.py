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

from earloop.reading import Decisions
from earloop.session.kept_behind import KeptBehind

Row = tuple[str, int]
"""A word, and the number of the decision it is about: `told` where nothing else is said."""
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
        os.write(1, b"told %d\\n" % k)
        time.sleep({step})
"""


def killed_while_deciding(
    keeper: type, act: str, step: float, folder: Path, moments: list[float]
) -> Iterator[tuple[Path, list[Row]]]:
    """For each of `moments` (seconds after starting) a kill: the kept file it leaves, and the rows it had written.

    Decision k writes the word k over the first tone, by the method `act` of a `keeper`; it is told, and `step` seconds
    pass. A keeper may write rows of its own, by `row`.
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
            rows: list[Row] = []
            while (read := host.stdout.readline()) != "dead\n":
                assert read, "the program that decides has ended"
                if read.strip():
                    word, number = read.split()
                    rows.append((word, int(number)))
            yield own / "tune.abc.earloop.toml", rows
        host.stdin.close()


def row(word: str, number: int) -> None:
    """Tell whoever kills this program."""
    os.write(1, f"{word} {number}\n".encode())


class Telling(KeptBehind):
    """Tells of each write when it begins and when it is on the disk."""

    def save(self, decided: Decisions) -> str:
        number = int(decided.words[0])
        row("writes", number)
        told = super().save(decided)
        row("wrote", number)
        return told


def moments_up_to(longest: float, count: int, seed: int) -> list[float]:
    dice = random.Random(seed)
    return [dice.uniform(0.0, longest) for _ in range(count)]
