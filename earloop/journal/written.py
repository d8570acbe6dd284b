"""Happenings as rows to hand on: JSON objects with the record's own names, and CSV for a table program."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from earloop.journal.happening import Happening, faults, stamp
from earloop.journal.place import short_name

COLUMNS = ("at", "score", "title", "phrase", "kind", "what", "item", "result", "seconds", "detail")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
"""A table program takes text that begins so for a formula; a leading apostrophe keeps it text (common practice)."""


def as_object(happening: Happening, whole_path: bool = True) -> dict[str, Any]:
    """One happening as a JSON object; phrases from 0, `at` in UTC. Without the whole path, the file's name only."""
    h = happening
    score = h.score if whole_path else short_name(h.score)
    return dict(
        zip(
            COLUMNS,
            (stamp(h.at), score, h.title, h.phrase, h.kind, h.what, h.item, h.result, h.seconds, h.detail),
            strict=True,
        )
    )


def from_object(row: Any) -> Happening:
    """The happening in such an object. Raises ValueError with what is wrong with it."""
    if not isinstance(row, dict):
        raise ValueError("it is no JSON object")
    missing = [name for name in ("at", "score", "kind", "what", "item") if not isinstance(row.get(name), str)]
    if missing:
        raise ValueError(f"it lacks {', '.join(missing)}")
    phrase, result, seconds, detail = (row.get(name) for name in ("phrase", "result", "seconds", "detail"))
    numbers = (result is None or _number(result)) and (seconds is None or _number(seconds))
    if not numbers or not (phrase is None or type(phrase) is int) or not isinstance(detail or {}, dict):
        raise ValueError("phrase, result, seconds or detail are of another kind than they should be")
    happening = Happening(
        datetime.fromisoformat(row["at"]),
        row["score"],
        str(row.get("title") or ""),
        phrase,
        row["kind"],
        row["what"],
        row["item"],
        None if result is None else float(result),
        float(seconds or 0.0),
        detail or {},
    )
    fault = faults(happening)
    if fault:
        raise ValueError(fault)
    return happening


def as_csv(happenings: Iterable[Happening]) -> Iterator[str]:
    """Lines of CSV (RFC 4180) with their ends, names first; phrases counted from 1, `detail` as JSON."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    for h in happenings:
        row = as_object(h)
        row["phrase"] = "" if h.phrase is None else h.phrase + 1
        row["detail"] = json.dumps(h.detail, ensure_ascii=False)
        writer.writerow([_plain(value) for value in row.values()])
        yield text.getvalue()
        text.seek(0)
        text.truncate()
    yield text.getvalue()


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _plain(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA_STARTS) else value
