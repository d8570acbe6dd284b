"""`compare`: two readings of one score, as figures and as a list of differences."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import chosen, line_of
from earloop.line import Line
from earloop.line.counted import counted
from earloop.reading import Key, read
from earloop.reading.agreement import Agreement, agreement
from earloop.reading.differences import Difference, Value, differences
from earloop.reading.differences_told import NAMES, told
from earloop.scores import ScoreError
from earloop.scores.kept_pages import page_word
from earloop.scores.other_readings import PROPOSAL, OtherReading, kept_about, other_reading

PROPOSED = "proposal"
"""The word for what earloop proposes, in place of a file."""


def compare(words: argparse.Namespace) -> int:
    """Print the figures of agreement, then each difference in a sentence; or both as JSON."""
    line = line_of(words, words.file)
    try:
        mine = kept_about(words.file, line, page_word(**chosen(words)))
        other = _other(words.other, line)
    except ScoreError as error:
        raise Refusal(error.sentence) from error
    readings = read(line, mine.decided), read(line, other.decided)
    figures = agreement(*readings, words.depth)
    found = differences(*readings)
    if words.json:
        print(json.dumps(_as_json(other, figures, line, found)))
    else:
        print("\n".join(_as_text(line, other, figures, found)))
    return 0


def _other(word: str, line: Line) -> OtherReading:
    if word == PROPOSED and not Path(word).exists():
        return PROPOSAL
    return other_reading(Path(word), line)


def _as_text(
    line: Line, other: OtherReading, figures: tuple[Agreement, ...], found: tuple[Difference, ...]
) -> Iterator[str]:
    yield f"{line.title or 'untitled'}: your reading and {other.name}"
    if other.note:
        yield other.note
    yield ""
    width = max(len(figure.name) for figure in figures)
    for figure in figures:
        share = "" if figure.share is None else f"  {round(100 * figure.share)} %"
        yield f"{figure.name.ljust(width)}  {figure.numbers}{share}"
    yield ""
    if not found:
        yield "They are the same."
        return
    yield counted(len(found), "difference")
    for difference in found:
        sentence = told(line, difference)
        yield sentence[:1].upper() + sentence[1:]


def _as_json(
    other: OtherReading, figures: tuple[Agreement, ...], line: Line, found: tuple[Difference, ...]
) -> dict[str, Any]:
    """Tones by index from 0."""
    return {
        "other": other.name,
        "note": other.note,
        "lost": other.lost.count,
        "agreement": [{"name": f.name, "equal": f.equal, "of": f.of, "share": f.share} for f in figures],
        "differences": [
            {"kind": d.kind, "name": NAMES[d.kind], "first": d.first, "last": d.last}
            | {"mine": _plain(d.mine), "other": _plain(d.other), "said": told(line, d)}
            for d in found
        ],
    }


def _plain(value: Value) -> int | str | bool | None:
    return value.name if isinstance(value, Key) else value
