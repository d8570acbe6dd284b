"""Somebody's reading, brought to a line: from a kept file, a package, another edition. Nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from earloop.line import Line
from earloop.reading import NONE_DECIDED, Decisions
from earloop.scores.align import related
from earloop.scores.carried import same_tones, settled_in
from earloop.scores.errors import ScoreError
from earloop.scores.kept_form import parse, text_of
from earloop.scores.kept_pages import page_word, present_place
from earloop.scores.kept_places import ENDING, data_folder
from earloop.scores.kept_writing import new_document, written
from earloop.scores.load import load_line
from earloop.scores.package import is_package, read_package
from earloop.scores.received import folder_of


@dataclass(frozen=True, slots=True)
class OtherReading:
    """Decisions about the line in hand. `lost` found no place in it; `note` is a sentence about that, or empty."""

    name: str
    decided: Decisions
    lost: Decisions = NONE_DECIDED
    note: str = ""


PROPOSAL = OtherReading("the proposal", NONE_DECIDED)


def kept_about(score: Path, line: Line, word: str = "", data: Path | None = None) -> OtherReading:
    """What is kept about the line, read only; nothing decided where nothing is kept. Raises ScoreError.

    `word` is `page_word` of what was taken of the score. Of a package it is what was decided in one's own copy of it,
    and what its sender decided where there is none yet.
    """
    if is_package(score):
        package = read_package(score)
        copy = folder_of(package, data or data_folder()) / package.score_name
        if not copy.exists():
            return _from_text(package.reading, package.name, line)
        score, word = copy, word or page_word(**package.choice)
    place = present_place(score, line, word, data)
    return OtherReading(score.name, NONE_DECIDED) if place is None else _from_text(text_of(place), place.name, line)


def other_reading(path: Path, line: Line, data: Path | None = None) -> OtherReading:
    """The reading in the file at `path`, about `line`: a kept file, a package, or a score with what is kept about it.

    Raises ScoreError with one sentence, also where its tones are those of another piece.
    """
    if path.name.endswith(ENDING):
        return _from_text(text_of(path), path.name, line, foreign=True)
    if is_package(path):
        return _from_text(read_package(path).reading, path.name, line, foreign=True)
    edition = load_line(path)
    _check_related(path.name, edition, line)
    found = kept_about(path, edition, data=data)
    if not found.decided:
        return OtherReading(
            path.name, NONE_DECIDED, note=f"nothing is decided about {path.name}: here stands what earloop proposes"
        )
    return _brought(path.name, found.decided, edition, line)


def text_to_give(score: Path, line: Line, word: str = "", data: Path | None = None) -> str:
    """The text of what is kept about the line, brought to the score as it is now; nothing is written.

    Raises ScoreError.
    """
    place = present_place(score, line, word, data)
    if place is None:
        return written(new_document(line.title), NONE_DECIDED, line)
    kept = parse(text_of(place), place.name)
    return written(kept.document, settled_in(kept.decided, kept.line, line)[0], line)


def _from_text(text: str, name: str, line: Line, foreign: bool = False) -> OtherReading:
    kept = parse(text, name)
    if foreign and kept.line is not None:
        _check_related(name, kept.line, line)
    return _brought(name, kept.decided, kept.line, line)


def _check_related(name: str, edition: Line, line: Line) -> None:
    if not same_tones(edition, line) and not related(edition, line):
        here = line.title or "this score"
        raise ScoreError(f"the tones of {name} are not those of {here}: name a reading or an edition of this piece")


def _brought(name: str, decided: Decisions, edition: Line | None, line: Line) -> OtherReading:
    """The decisions brought to the line; those that find no tone in it wait in them, and the note tells of them."""
    found, lost = settled_in(decided, edition, line)
    apart = edition is not None and not same_tones(edition, line)
    note = f"{name} is about another edition. {_about(lost)}" if apart else _about(lost)
    return OtherReading(name, found, lost, note.strip())


def _about(lost: Decisions) -> str:
    return f"{lost.count} of its decisions found no place in this score." if lost.count else ""
