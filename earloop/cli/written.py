"""Files that a command writes by name: whole or not at all, and over what is there only where --replace asks for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from earloop.cli.refusal import Refusal
from earloop.whole_file import whole_file


def check_free(path: Path, replace: bool, reads: Iterable[Path | None] = ()) -> None:
    """Raises Refusal where writing would lose something, or there is no place for it.

    `reads` is what the command reads: that is never written over, not even where --replace is asked for.
    """
    if not path.parent.is_dir():
        raise Refusal(f"there is no folder {path.parent}: make it first, or write elsewhere")
    if path.is_dir():
        raise Refusal(f"{path} is a folder: name a file in it")
    if not path.is_file():
        return
    if any(own is not None and own.exists() and path.samefile(own) for own in reads):
        raise Refusal(f"{path} is what is read: give the new file another name")
    if not replace:
        raise Refusal(f"{path} is there already: choose another name, or add --replace to write over it")


@contextmanager
def written(path: Path, replace: bool, reads: Iterable[Path | None] = ()) -> Iterator[Path]:
    """The path to write to: a file beside it, of the same ending, which takes its place when all went well.

    Raises Refusal, also for an OSError on the way.
    """
    check_free(path, replace, reads)
    try:
        with whole_file(path) as part:
            yield part
            check_free(path, replace)
    except OSError as error:
        raise Refusal(f"{path} can't be written ({error.strerror or error}): write elsewhere") from error
