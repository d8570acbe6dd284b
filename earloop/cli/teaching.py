"""Handing a student's log back to the teacher, and several of them side by side."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from earloop.cli.columns import aligned
from earloop.cli.journal_in import happenings_of
from earloop.cli.refusal import Refusal
from earloop.cli.written import check_free, written
from earloop.coaching.beside import Beside, Figures, side_by_side
from earloop.journal import JournalError
from earloop.journal.handed_back import HandedBack, handed_back, read_handed_back
from earloop.layers import NAMES
from earloop.line.counted import counted

ABREAST = 6
"""So many students stand beside one another; further ones below."""


def hand_back(words: argparse.Namespace) -> int:
    """Write the log of one score, or of one phrase of it, for the teacher."""
    if words.file is None:
        raise Refusal("--hand-back needs the score: earloop log FILE --hand-back OUT")
    check_free(words.hand_back, words.replace, [words.file])
    happenings = happenings_of(words)
    if not happenings:
        raise Refusal(f"nothing is noted of {words.file}: practise it first, then hand it back")
    phrase = None if words.phrase is None else words.phrase - 1
    newest = happenings[-1]
    name = " ".join((words.name or "").split())
    lines = handed_back(HandedBack(name, newest.score, newest.title, phrase, tuple(happenings)))
    with written(words.hand_back, words.replace, [words.file]) as path:
        path.write_text("".join(lines), encoding="utf-8", newline="")
    whose = f"under the name {name}" if name else "without a name (--name adds one)"
    print(f"{counted(len(happenings), 'entry is', 'entries are')} in {words.hand_back}, {whose}")
    return 0


def students(words: argparse.Namespace) -> int:
    """Print the logs side by side."""
    try:
        logs = [read_handed_back(path) for path in words.files]
    except JournalError as error:
        raise Refusal(str(error)) from error
    found = side_by_side(logs)
    if words.json:
        print(json.dumps([_as_object(one) for one in found], ensure_ascii=False, default=str))
    else:
        print("\n\n".join("\n".join(_table(one)) for one in found))
    return 0


def _as_object(one: Beside) -> dict[str, Any]:
    """Phrases and tones from 0."""
    return asdict(one)


def _table(one: Beside) -> Iterator[str]:
    phrase = "the whole line" if one.phrase is None else f"phrase {one.phrase + 1}"
    yield f"{one.title or one.score} ({one.score}), {phrase}"
    for first in range(0, len(one.students), ABREAST):
        yield ""
        yield from aligned(_rows(one.students[first : first + ABREAST]))


def _rows(students: tuple[Figures, ...]) -> list[tuple[str, ...]]:
    """A figure a row, a student a column; rows that nobody has are left out."""
    rows = [
        ("", *(one.student for one in students)),
        ("minutes", *(f"{one.minutes:.0f}" for one in students)),
        ("days", *(str(one.days) for one in students)),
        ("last day", *(one.last.isoformat() if one.last else "" for one in students)),
    ]
    rows += _shares([(f"right: {name}", [one.layers.get(name) for one in students]) for name in NAMES])
    kinds = sorted({kind for one in students for kind in one.questions})
    rows += _shares([(kind.replace("_", " "), [one.questions.get(kind) for one in students]) for kind in kinds])
    degrees = sorted({degree for one in students for degree in one.degrees}, key=lambda d: (d[-1:], len(d), d))
    rows += _shares([(f"degree {degree}", [one.degrees.get(degree) for one in students]) for degree in degrees])
    shaky = [", ".join(f"{a + 1}-{b + 1}" for a, b in one.shaky[:5]) for one in students]
    return [*rows, ("shaky links", *shaky)] if any(shaky) else rows


def _shares(rows: list[tuple[str, list[float | None]]]) -> list[tuple[str, ...]]:
    return [
        (name, *("" if share is None else f"{100 * share:.0f} %" for share in shares))
        for name, shares in rows
        if any(share is not None for share in shares)
    ]
