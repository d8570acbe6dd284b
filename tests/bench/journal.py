"""The journal after years: how long a note, opening it, the day's plan and what is due take.

python -m tests.bench journal [ENTRIES]
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

from earloop.coaching.due import due_in, due_items
from earloop.coaching.progress import link_counts, minutes_a_day
from earloop.journal import Happening, Journal, UnderWay
from earloop.layers import NAMES
from earloop.session.diary import Diary

SCORES, PHRASES = 40, 8


def practice(entries: int) -> list[Happening]:
    """Sung takes with twelve judged tones and some links each, one every twenty minutes."""
    chance, now = random.Random(1), datetime.now(UTC)
    tone = {"degree": "2", "verdict": "right", "sung_degree": "2", "cents": 3.0, "late_ms": 4, "held": True}
    found = []
    for number in range(entries):
        name = chance.choice(NAMES)
        links = {f"{first}-{first + 2}": [chance.randrange(2), 1] for first in range(chance.randrange(8))}
        detail = {"degrees": {"2": [1, 2]}, "links": links, "tones": [{"index": n, **tone} for n in range(12)]}
        at = now - timedelta(minutes=20 * (entries - number))
        place = (f"score {chance.randrange(SCORES)}", "title", chance.randrange(PHRASES))
        found.append(Happening(at, *place, "sung", name, f"layer:{name}", chance.random(), 30.0, detail))
    return found


def timed(name: str, work: Callable[[], object]) -> None:
    """Print how long it took."""
    began = time.perf_counter()
    work()
    print(f"{name:<44} {1000 * (time.perf_counter() - began):10.1f} ms")


def due_times(path: Path, happenings: list[Happening]) -> None:
    """What is due: counted for the first time, counted on, and as the command a player types."""
    today = datetime.now(UTC).date()
    with Journal.open(path) as journal:
        timed("what is due, the first time", lambda: due_in(journal, today))
        timed("what is due, the second time", lambda: due_in(journal, today))
        journal.note(happenings[-1])
        timed("what is due, after one more take", lambda: due_in(journal, today))
        journal.note(happenings[len(happenings) // 2])
        timed("what is due, after one that came late", lambda: due_in(journal, today))
        timed("a spell noted so far", lambda: journal.note(UnderWay("spell", happenings[0])))
    command = [sys.executable, "-m", "earloop", "due", "--json"]
    surroundings = os.environ | {"EARLOOP_JOURNAL": str(path)}
    timed("the command earloop due", lambda: subprocess.run(command, env=surroundings, capture_output=True, check=True))
    print(f"{'size with what is counted':<44} {path.stat().st_size / 1e6:10.1f} MB")
    with Journal.open(path) as journal:
        timed("wipe", journal.wipe)


def main() -> None:
    entries = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    happenings = practice(entries)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.sqlite"
        with Journal.open(path) as journal:
            timed(f"write {entries} entries at once", lambda: journal.note_all(happenings))
            timed("write one, on the disk", lambda: journal.note(happenings[0]))
            timed("read all", journal.happenings)
            timed("read one phrase", lambda: journal.happenings("score 3", phrase=2))
        print(f"{'size':<44} {path.stat().st_size / 1e6:10.1f} MB")
        diary = Diary(path)
        timed("a note as the keys see it", lambda: diary.note(happenings[0]))
        timed("until it is on the disk", lambda: diary.flush(10))
        diary.close()
        due_times(path, happenings)
    timed("what is due, going through all in memory", lambda: due_items(happenings))
    timed("minutes a day", lambda: minutes_a_day(happenings, datetime.now(UTC).date()))
    timed("links of one score", lambda: link_counts([h for h in happenings if h.score == "score 3"]))


if __name__ == "__main__":
    main()
