"""Lines with a meter from music21's corpus: fiddle and flute books, the Essen songs' development half, chorales.

Read when asked for; nothing of them is kept. Ryan's Mammoth Collection 1883, O'Neill's Music of Ireland 1903, Aird's
Airs 1782 and the Nottingham collection come through our own ABC reader.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import music21

from earloop.line import Line
from earloop.scores import list_tunes, load_line
from earloop.scores.errors import ScoreError

CORPUS = Path(music21.__file__).parent / "corpus"
SCRIPTS = Path(__file__).resolve().parents[3] / "shared" / "eval"
BOOKS = ("ryansMammoth", "oneills1850", "airdsAirs", "nottingham-dataset")
Lines = Iterator[tuple[str, Line]]


def tunes(books: tuple[str, ...] = BOOKS) -> Lines:
    """Every tune of the books in one meter that is neither a scrap nor endless."""
    for book in books:
        for path in sorted((CORPUS / book).glob("*.abc")):
            yield from _of_book(path, {number for number, _ in list_tunes(path)})


def songs() -> Lines:
    """The Essen songs of the development half. Raises FileNotFoundError where the open-data scripts aren't at hand."""
    if not (SCRIPTS / "essen.py").exists():
        raise FileNotFoundError("the open-data scripts (../shared/eval) are not beside the project")
    sys.path.insert(0, str(SCRIPTS))
    try:
        import essen
    finally:
        sys.path.remove(str(SCRIPTS))
    wanted: dict[str, set[int]] = {}
    for tune in essen.load("dev"):
        book, _, number = tune["id"].partition(":")
        if number.isdigit() and tune["metered"]:
            wanted.setdefault(book, set()).add(int(number))
    for book, numbers in sorted(wanted.items()):
        yield from _of_book(CORPUS / "essenFolksong" / book, numbers)


def chorales() -> Lines:
    """The sopranos of Bach's chorales."""
    for path in sorted((CORPUS / "bach").glob("*.mxl")):
        yield from _of(path, None)


def _of_book(path: Path, numbers: set[int]) -> Lines:
    for number in sorted(numbers):
        yield from _of(path, number)


def _of(path: Path, number: int | None) -> Lines:
    try:
        line = load_line(path, tune=number)
    except ScoreError:
        return
    if len(line.meters) == 1 and line.meters[0][1].beats and 12 <= len(line) <= 600:
        yield f"{path.name}:{number or 1}", line


KINDS: dict[str, Callable[[], Lines]] = {"tunes": tunes, "songs": songs, "chorales": chorales}
