"""A score file → the line a performer means: the tune, the part, the measures, the repeats."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from earloop.line import Line
from earloop.scores import abc_tunes, midi_notes, notated
from earloop.scores.bars import Bar, PartHandle, ScorePages
from earloop.scores.errors import ScoreError
from earloop.scores.files import ScoreFile, open_score
from earloop.scores.one_line import line_of
from earloop.scores.quiet import uncollected
from earloop.scores.repeats import has_repeats, unfolded


@dataclass(frozen=True, slots=True)
class ScorePart:
    """A part on offer. `number` counts from 1; `melodic` is False for percussion or a part of mere text."""

    number: int
    name: str
    tones: int
    melodic: bool


def load_line(
    path: str | Path,
    *,
    part: int | str | None = None,
    first_measure: int | None = None,
    last_measure: int | None = None,
    unfold_repeats: bool = False,
    tune: int | str | None = None,
) -> Line:
    """The line in the score at `path`.

    `part` is a number from 1 or (part of) a name; without it the first melodic part is taken and a note says so.
    Of a package that is taken which its sender took, unless something else is asked for. Measures are numbered as
    printed, both ends included. `tune` is the number or title of one tune in an ABC book.
    Raises ScoreError with one sentence for every input that gives no line.
    """
    file = open_score(path)
    if file.choice and (part, first_measure, last_measure, unfold_repeats, tune) == (None, None, None, False, None):
        return load_line(path, **file.choice)
    offered = _pages(file, tune)
    notes = list(offered.notes)
    handle = _chosen(offered.parts, part, file.name, notes)
    page = handle.open()
    bars = _measures(page.bars, first_measure, last_measure, file.name)
    if has_repeats(bars):
        if unfold_repeats:
            bars = unfolded(bars)
            notes.append("Repeats are played out.")
        else:
            notes.append("Repeats and endings are read once, in the order of the page.")
    with uncollected():
        beside = [other.open() for other in offered.parts if other is not handle and other.melodic]
    line = line_of(page, bars, offered.title or file.path.stem, file.name, notes, beside)
    if line is None:
        if first_measure is not None or last_measure is not None:
            raise ScoreError(f"{_range(first_measure, last_measure)} of {file.name} hold no tones: choose others")
        raise ScoreError(f"{handle.name} in {file.name} holds no tones: choose another part")
    return line


def list_parts(path: str | Path, *, tune: int | str | None = None) -> tuple[ScorePart, ...]:
    """The parts of the score at `path`, in its own order. Raises ScoreError."""
    file = open_score(path)
    offered = _pages(file, file.choice.get("tune") if tune is None else tune)
    return tuple(ScorePart(handle.number, handle.name, handle.tones, handle.melodic) for handle in offered.parts)


def list_tunes(path: str | Path) -> tuple[tuple[int, str], ...]:
    """(number, title) of each tune in an ABC book; empty for every other format. Raises ScoreError."""
    file = open_score(path)
    if file.format != "abc":
        return ()
    return tuple((found.number, found.title) for found in abc_tunes.tunes(file.text))


def _pages(file: ScoreFile, tune: int | str | None) -> ScorePages:
    if tune is not None and file.format != "abc":
        raise ScoreError(f"{file.name} is no ABC tune book: leave out the tune")
    if file.format == "midi":
        return midi_notes.pages(file.data, file.name)
    if file.format == "abc":
        return abc_tunes.pages(file.text, file.name, tune)
    return notated.read(file.text, file.format, file.name)


def _chosen(parts: Sequence[PartHandle], wanted: int | str | None, name: str, notes: list[str]) -> PartHandle:
    if not any(handle.tones for handle in parts):
        raise ScoreError(f"{name} holds no notes: open a score with a melody in it")
    if wanted is None:
        found = next((h for h in parts if h.melodic), next(h for h in parts if h.tones))
        if len(parts) > 1:
            named = f"{found.number} ({found.name})"
            notes.append(f"{len(parts)} parts: this is the first melodic one, {named}; P or --part takes another.")
        return found
    text = str(wanted).strip()
    if text.isdigit():
        matches = [handle for handle in parts if handle.number == int(text)]
    else:
        matches = [handle for handle in parts if handle.name.casefold() == text.casefold()]
        matches = matches or [handle for handle in parts if text and text.casefold() in handle.name.casefold()]
    if not matches:
        listed = ", ".join(f"{handle.number} {handle.name}" for handle in parts[:30])
        more = f" and {len(parts) - 30} more" if len(parts) > 30 else ""
        raise ScoreError(f"{name} has no part {text!r}: it has {listed}{more}")
    if not matches[0].tones:
        raise ScoreError(f"part {matches[0].number} ({matches[0].name}) of {name} holds no notes: choose another")
    return matches[0]


def _measures(bars: list[Bar], first: int | None, last: int | None, name: str) -> list[Bar]:
    """The bars whose printed numbers lie in the range; the meter in force is carried to the first."""
    if first is None and last is None:
        return bars
    if first is not None and last is not None and first > last:
        raise ScoreError(f"{_range(first, last)} is no range: the first measure must not come after the last")
    kept: list[Bar] = []
    meter: tuple[int, int] | None = None
    number = 0
    for bar in bars:
        found = re.match(r"\d+", bar.number)
        number = int(found.group()) if found else number
        meter = bar.meter or meter
        if (first is None or number >= first) and (last is None or number <= last):
            if not kept:
                bar.meter = meter
            kept.append(bar)
    if not kept:
        numbers = [bar.number for bar in bars if bar.number]
        shown = f"its measures run from {numbers[0]} to {numbers[-1]}" if numbers else "it has no measure numbers"
        raise ScoreError(f"{name} has nothing at {_range(first, last)}: {shown}")
    return kept


def _range(first: int | None, last: int | None) -> str:
    if first is None:
        return f"measures up to {last}"
    if last is None:
        return f"measures from {first}"
    return f"measures {first} to {last}"
