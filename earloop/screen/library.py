"""Where the phrases lie: inside the installed package, or beside it in a checkout; and the scores of any folder."""

from __future__ import annotations

from pathlib import Path

SCORE_ENDINGS = frozenset((".musicxml", ".xml", ".mxl", ".abc", ".krn", ".mid", ".midi", ".mei"))
MOST_LISTED = 500
"""A folder of thousands of scores is better opened by its sub-folders; the chooser says so."""


def phrases_folder() -> Path | None:
    """The folder of the phrase library, None where it was not installed."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "phrases", package.parent / "phrases"):
        if folder.is_dir():
            return folder
    return None


KEPT_ENDING, PACKAGE_ENDING = ".earloop.toml", ".earloop.zip"


def scores_in(folder: Path, kept_too: bool = False) -> tuple[list[Path], list[Path], bool]:
    """(sub-folders, scores, whether some were left out) of a folder, by name. Raises OSError.

    With `kept_too` files of kept decisions are listed among the scores.
    """
    folders, scores = [], []
    for path in sorted(folder.iterdir(), key=lambda entry: entry.name.casefold()):
        if path.name.startswith("."):
            continue
        if path.is_dir():
            folders.append(path)
        elif (
            path.suffix.lower() in SCORE_ENDINGS
            or path.name.lower().endswith(PACKAGE_ENDING)
            or (kept_too and path.name.endswith(KEPT_ENDING))
        ):
            scores.append(path)
    return folders[:MOST_LISTED], scores[:MOST_LISTED], max(len(folders), len(scores)) > MOST_LISTED


def first_phrase() -> Path | None:
    """The phrase the screen opens on when it is given no score."""
    folder = phrases_folder()
    return next(iter(scores_in(folder)[1]), None) if folder else None
