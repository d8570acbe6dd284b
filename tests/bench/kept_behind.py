"""What a kill costs: how long before it a decision must have been made to be on the disk.

python -m tests.bench kept_behind: aim 100 ms; on a busy machine the disk and the turns of others are in it.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from statistics import median

from earloop.scores.kept_form import parse
from earloop.session.kept_behind import KeptBehind
from tests.killed_programs import killed_while_deciding, moments_up_to

STEP, KILLS = 0.005, 60


def lost_to_each_kill() -> list[int]:
    """How many decisions, one every STEP seconds, weren't in the file: one number a kill."""
    lost = []
    with tempfile.TemporaryDirectory() as folder:
        moments = moments_up_to(0.25, KILLS, seed=5)
        for file, rows in killed_while_deciding(KeptBehind, "keep", STEP, Path(folder), moments):
            there = int(parse(file.read_text(), "left").decided.words[0]) if file.exists() else -1
            lost.append(max((number for _, number in rows), default=-1) - there)
    return lost


if __name__ == "__main__":
    lost = sorted(lost_to_each_kill())
    worst, middle = (1000 * STEP * count for count in (lost[-1], median(lost)))
    print(f"{KILLS} kills cost, where something is decided every {1000 * STEP:.0f} ms: ", end="")
    print(f"median {middle:.0f}, worst {worst:.0f} ms (aim 100)")
