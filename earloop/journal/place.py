"""Where the journal lies, and by what name it knows a score."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

VARIABLE = "EARLOOP_JOURNAL"
"""The environment variable that names another journal file than the user's own."""
LIBRARY = "library:"
"""Before the name of a phrase of our own library, wherever that is installed."""


def journal_path(path: Path | None = None) -> Path:
    """The journal's file: as asked for, else as the environment says, else in the user's data folder."""
    if path is not None:
        return path
    named = os.environ.get(VARIABLE, "")
    return Path(named) if named else Path(platformdirs.user_data_dir("earloop")) / "journal.sqlite"


def score_name(path: Path, library: Path | None = None, page: str = "") -> str:
    """The name under which the journal knows a score: its whole path, or `library:` and the file's name.

    `page` says which part, tune or measures were taken of it, where that was chosen: each is a line of its own.
    """
    whole = path.resolve()
    in_library = library is not None and whole.parent == library.resolve()
    # A name that is no text by the system's encoding must still be one in the journal.
    name = os.fsencode(whole.name if in_library else whole).decode("utf-8", "backslashreplace")
    return f"{LIBRARY if in_library else ''}{name}{'#' if page else ''}{page}"


def page_name(
    part: int | str | None = None,
    tune: int | str | None = None,
    first_measure: int | None = None,
    last_measure: int | None = None,
    unfold_repeats: bool = False,
    **_: object,
) -> str:
    """What was taken of a score, in words: `part 2, bars 5-8`; empty where nothing was chosen."""
    bars = f"bars {first_measure or ''}-{last_measure or ''}" if first_measure or last_measure else ""
    chosen = (f"part {part}" if part else "", f"tune {tune}" if tune else "", bars)
    return ", ".join(filter(None, (*chosen, "repeats played" if unfold_repeats else "")))


def short_name(score: str) -> str:
    """A score's name without its folder, for reading."""
    where, _, page = score.partition("#")
    name = where.removeprefix(LIBRARY).replace("\\", "/").rpartition("/")[2]
    return f"{name} ({page})" if page else name
