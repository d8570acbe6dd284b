"""Somebody's reading, brought to a line: from a kept file, or from another edition of the score. Nothing is written."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from earloop.line import Line
from earloop.reading import NONE_DECIDED, Decisions
from earloop.scores.carried import carried_over, same_tones, within
from earloop.scores.kept_form import parse, text_of
from earloop.scores.kept_pages import present_place
from earloop.scores.kept_places import ENDING
from earloop.scores.load import load_line


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

    `word` is `page_word` of what was taken of the score.
    """
    place = present_place(score, line, word, data)
    return OtherReading(score.name, NONE_DECIDED) if place is None else _from_kept_file(place, line)


def other_reading(path: Path, line: Line, data: Path | None = None) -> OtherReading:
    """The reading in the file at `path`, about `line`: a kept file, or a score with what is kept about it.

    Raises ScoreError with one sentence.
    """
    if path.name.endswith(ENDING):
        return _from_kept_file(path, line)
    edition = load_line(path)
    found = kept_about(path, edition, data=data)
    if not found.decided:
        return OtherReading(path.name, NONE_DECIDED, note=f"nothing is decided about {path.name}: it is as proposed")
    return _brought(path.name, found.decided, edition, line)


def _from_kept_file(path: Path, line: Line) -> OtherReading:
    kept = parse(text_of(path), path.name)
    if kept.line is None:
        decided, lost = within(kept.decided, len(line))
        return OtherReading(path.name, decided, lost, _about(lost))
    return _brought(path.name, kept.decided, kept.line, line)


def _brought(name: str, decided: Decisions, edition: Line, line: Line) -> OtherReading:
    if same_tones(edition, line):
        return OtherReading(name, decided)
    carried, lost = carried_over(decided, edition, line)
    return OtherReading(name, carried, lost, f"{name} is about another edition. {_about(lost)}".strip())


def _about(lost: Decisions) -> str:
    count = lost.count
    if not count:
        return ""
    return f"{count} of its {'decision' if count == 1 else 'decisions'} found no place in this score."
