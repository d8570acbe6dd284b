"""Many lines at once: the batch form over standard input, or a folder of scores, on one or more processes."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import TextIO

from rich.console import Console
from rich.progress import Progress, TaskID

from earloop.cli.batch import answer, columns_of
from earloop.cli.refusal import Refusal

SUFFIXES = (".musicxml", ".xml", ".mxl", ".abc", ".krn", ".mid", ".midi", ".mei")
PORTION = 8
Work = Callable[[str], tuple[str, bool]]


def batch(rows: TextIO, out: TextIO, jobs: int = 1, scheduler: str = "") -> int:
    """Standard input to standard output by the batch form, in order; 1 at the end if any row was bad."""
    good = True
    for text, fine in _each(answer, (row for row in rows if row.strip()), jobs, scheduler):
        out.write(text + "\n")
        good = good and fine
    out.flush()
    return 0 if good else 1


def folder(root: Path, output: Path | None, jobs: int = 1, scheduler: str = "") -> int:
    """Every score below `root`, one JSON line each. Scores already in `output` are left as they are (resumable)."""
    paths = sorted(p for p in root.rglob("*") if p.suffix.lower() in SUFFIXES and p.is_file())
    if not paths:
        raise Refusal(f"{root} holds no scores: name a folder with {', '.join(SUFFIXES)}")
    done = _already(output) if output else set()
    waiting = [str(path.relative_to(root)) for path in paths if str(path.relative_to(root)) not in done]
    target = _opened(output) if output else sys.stdout
    good = True
    bar = Progress(console=Console(stderr=True)) if output and sys.stderr.isatty() else None
    task = TaskID(0)
    try:
        if bar:
            bar.start()
            task = bar.add_task("scores", total=len(waiting) + len(done), completed=len(done))
        for k, (text, fine) in enumerate(_each(_Scores(root), waiting, jobs, scheduler), start=1):
            target.write(text + "\n")
            target.flush()
            good = good and fine
            if bar:
                bar.update(task, completed=k + len(done))
    finally:
        if bar:
            bar.stop()
        if output:
            target.close()
    return 0 if good else 1


class _Scores:
    """Path below a root → JSON answer; a class so that other processes can be sent it."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def __call__(self, name: str) -> tuple[str, bool]:
        from earloop.reading import read
        from earloop.scores import ScoreError, load_line

        try:
            return json.dumps(columns_of(name, read(load_line(self.root / name)))), True
        except ScoreError as error:
            return json.dumps({"id": name, "error": str(error)}), False


def _opened(output: Path) -> TextIO:
    try:
        return output.open("a", encoding="utf-8")
    except OSError as error:
        raise Refusal(f"{output} can't be written ({error.strerror}): write elsewhere") from error


def _already(output: Path) -> set[str]:
    """Names answered in an earlier run; a last row cut short by a crash is taken off the file."""
    if not output.exists():
        return set()
    names: set[str] = set()
    try:
        rows = output.read_text(encoding="utf-8").splitlines(keepends=True)
    except (OSError, UnicodeDecodeError) as error:
        raise Refusal(f"{output} can't hold readings: choose another file for -o") from error
    whole = [row for row in rows if row.endswith("\n")]
    for row in whole:
        try:
            names.add(json.loads(row)["id"])
        except (ValueError, KeyError, TypeError) as error:
            raise Refusal(f"{output} holds something other than readings: choose another file for -o") from error
    if len(whole) < len(rows):
        if not (names or rows[0].startswith('{"id"')):
            raise Refusal(f"{output} holds something other than readings: choose another file for -o")
        output.write_text("".join(whole), encoding="utf-8")
    return names


def _each(work: Work, items: Iterable[str], jobs: int, scheduler: str = "") -> Iterator[tuple[str, bool]]:
    if scheduler:
        from earloop.cli.cluster import answers_of

        yield from answers_of(work, items, scheduler)
        return
    if jobs <= 1:
        yield from map(work, items)
        return
    # spawn: a forked child of a program with threads can hang.
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        yield from pool.map(work, items, chunksize=PORTION)
