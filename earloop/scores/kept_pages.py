"""Which kept file belongs to the part, tune or measures that were taken of a score.

What is taken of it by default has the plain name, `NAME.earloop.toml`; each other choice has a file of its own, such as
`NAME.part-2.earloop.toml`, so that looking at another part never carries decisions off. A file whose own tones are
those of the line belongs to it, whatever its name says.
"""

from __future__ import annotations

import re
from pathlib import Path

from earloop.line import Line
from earloop.scores.carried import same_tones
from earloop.scores.errors import ScoreError
from earloop.scores.kept_form import parse, text_of
from earloop.scores.kept_places import ENDING, beside, can_be_beside, data_folder, in_data

_PAGE = re.compile(r"(part|tune|bars|played)-")


def page_word(
    part: int | str | None = None,
    tune: int | str | None = None,
    first_measure: int | None = None,
    last_measure: int | None = None,
    unfold_repeats: bool = False,
) -> str:
    """The choice as a word for a file's name, such as `part-2` or `bars-5-8`; empty where nothing was chosen."""
    words = [f"{name}-{_plain(value)}" for name, value in (("part", part), ("tune", tune)) if value is not None]
    if first_measure is not None or last_measure is not None:
        words.append(
            f"bars-{'' if first_measure is None else first_measure}-{'' if last_measure is None else last_measure}"
        )
    if unfold_repeats:
        words.append("played-out")
    return ".".join(words)


def page_place(plain: Path, line: Line, word: str) -> Path:
    """The kept file of this line: `plain` is that of the whole score, `word` names what was taken of it."""
    if not word:
        if plain.exists() or not plain.parent.is_dir():
            return plain
        return next((path for path in _pages_of(plain) if is_about(path, line)), plain)
    named = named_place(plain, word)
    return plain if not named.exists() and is_about(plain, line) else named


def named_place(plain: Path, word: str) -> Path:
    """The file's name with the choice in it."""
    return plain.with_name(f"{plain.name.removesuffix(ENDING)}.{word}{ENDING}") if word else plain


def present_place(score: Path, line: Line, word: str = "", data: Path | None = None) -> Path | None:
    """The file that keeps the decisions about the line now, None where nothing is kept. Nothing is written."""
    near, own = beside(score), in_data(score, data or data_folder())
    plains = (near, own) if can_be_beside(score) else (own, near)
    return next((place for plain in plains if (place := page_place(plain, line, word)).exists()), None)


def is_about(path: Path, line: Line) -> bool:
    """Whether the kept file there says that it is about just these tones."""
    try:
        kept = parse(text_of(path), path.name)
    except ScoreError:
        return False
    return kept.line is not None and same_tones(kept.line, line)


def _pages_of(plain: Path) -> list[Path]:
    """The kept files of single parts, tunes or measures of the score whose plain file this is."""
    start = plain.name.removesuffix(ENDING) + "."
    names = (path for path in plain.parent.iterdir() if path.name.startswith(start) and path.name.endswith(ENDING))
    return sorted(path for path in names if _PAGE.match(path.name.removeprefix(start)))


def _plain(value: int | str) -> str:
    """A part's name with nothing in it that a file's name can't have."""
    return re.sub(r"[^\w]+", "-", str(value).casefold()).strip("-")[:40] or "x"
