"""A file that is there whole or not at all, whoever is killed or runs out of room while it is written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def whole_file(path: Path, *, lasting: bool = False) -> Iterator[Path]:
    """The path to write to: a file beside it, of the same ending, which takes its place when all went well.

    Two programs that write the same file don't meet: each has one of its own beside it. A link stays one, and what it
    leads to is written; a pipe or a device has no place to take and is written to itself. With `lasting` it is on the
    disk before it takes the place, so that a power cut leaves the old or the new too. Raises OSError.
    """
    place = path.resolve()
    if place.exists() and not place.is_file():
        yield place
        return
    part = place.with_name(f".part-{os.getpid()}-{place.name}")
    try:
        yield part
        if lasting:
            with part.open("rb+") as written:
                os.fsync(written.fileno())
        os.replace(part, place)
    finally:
        part.unlink(missing_ok=True)


def write_whole(path: Path, text: str, *, lasting: bool = False) -> None:
    """All of the text, in UTF-8, or what was there before. Raises OSError."""
    with whole_file(path, lasting=lasting) as part:
        part.write_text(text, encoding="utf-8")
