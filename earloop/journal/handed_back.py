"""A student's log to hand back to a teacher: JSON Lines, a heading and then a happening a line. Schema 1.

    {"earloop": "practice", "schema": 1, "student": "Mia", "score": "rooks.abc", "title": "Rooks", "phrase": 0}
    {"at": "2026-11-25T14:10:17.000000+00:00", "score": "rooks.abc", …}

The student's name is as the student typed it, and may be empty. Of the score there is the file's name alone, never
where it lies. `phrase` counts from 0; null says that all phrases are there. The lines are those of `as_object`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from earloop.journal.happening import Happening
from earloop.journal.place import short_name
from earloop.journal.refusal import JournalError
from earloop.journal.written import as_object, from_object

SCHEMA = 1
MARK = "practice"
LARGEST = 50 * 1024 * 1024
"""Bytes; years of practice are a few megabytes."""


@dataclass(frozen=True, slots=True)
class HandedBack:
    """What one file holds. `file` is its name, for telling two students of one name apart."""

    student: str
    score: str
    title: str
    phrase: int | None
    happenings: tuple[Happening, ...]
    file: str = ""


def handed_back(log: HandedBack) -> Iterator[str]:
    """The lines of the file, each with its end."""
    heading = {
        "earloop": MARK,
        "schema": SCHEMA,
        "student": log.student,
        "score": short_name(log.score),
        "title": log.title,
        "phrase": log.phrase,
    }
    yield _line(heading)
    for happening in log.happenings:
        yield _line(as_object(happening, whole_path=False))


def read_handed_back(path: Path) -> HandedBack:
    """The log in a file. Raises JournalError with one sentence that names file and line."""
    try:
        if path.stat().st_size > LARGEST:
            raise JournalError(f"{path} is larger than a log of practice can be: ask for it again")
        rows = path.read_text(encoding="utf-8").split("\n")  # other signs that end a line may stand in a title
    except FileNotFoundError:
        raise JournalError(f"there is no file {path}: check the name") from None
    except UnicodeDecodeError as error:
        raise JournalError(f"{path} is no log that was handed back: ask for it again") from error
    except OSError as error:
        raise JournalError(f"{path} can't be read ({error.strerror or error}): ask for it again") from error
    return _parsed(rows, path)


def _parsed(rows: Iterable[str], path: Path) -> HandedBack:
    numbered = [(number, row) for number, row in enumerate(rows, start=1) if row.strip()]
    heading: Any = None
    found: list[Happening] = []
    for number, row in numbered:
        try:
            made = json.loads(row)
            if heading is None:
                heading = _heading(made)
            else:
                found.append(from_object(made))
        except json.JSONDecodeError as error:
            raise JournalError(f"{path}, line {number}, is no log that was handed back: ask for it again") from error
        except (ValueError, OverflowError, RecursionError) as error:
            raise JournalError(f"{path}, line {number}: {error}: ask for it again") from error
    if heading is None:
        raise JournalError(f"{path} is empty: ask for it again")
    ordered = tuple(sorted(found, key=lambda h: h.at))
    return HandedBack(heading["student"], heading["score"], heading["title"], heading["phrase"], ordered, path.name)


def _heading(made: Any) -> dict[str, Any]:
    if not isinstance(made, dict) or made.get("earloop") != MARK:
        raise ValueError("it is no log that earloop handed back")
    if made.get("schema") != SCHEMA:
        raise ValueError(f"its schema is {made.get('schema')!r}, this earloop reads {SCHEMA}")
    phrase = made.get("phrase")
    if not (phrase is None or (type(phrase) is int and phrase >= 0)):
        raise ValueError("its phrase is no number from 0")
    return {name: str(made.get(name) or "") for name in ("student", "score", "title")} | {"phrase": phrase}


def _line(row: dict[str, Any]) -> str:
    return json.dumps(row, ensure_ascii=False) + "\n"
