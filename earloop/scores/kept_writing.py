"""Decisions into the text they are kept in; see `kept_form.py` for what that looks like."""

from __future__ import annotations

from typing import Any

import tomlkit

from earloop.line import Line, Span
from earloop.reading import Decisions, Key
from earloop.scores.kept_form import FORMAT, SCHEMA
from earloop.scores.kept_unplaced import put_unplaced


def new_document(title: str) -> tomlkit.TOMLDocument:
    """An empty file with a word of explanation."""
    document = tomlkit.document()
    document.add(tomlkit.comment(f"What was decided by hand about {title}. Kept by earloop; yours to read and edit."))
    document.add("format", tomlkit.item(FORMAT))
    return document


def written(document: tomlkit.TOMLDocument, decided: Decisions, line: Line) -> str:
    """The document with these decisions in it, as text. Comments and unknown fields stay."""
    if decided.home:
        document["home"] = decided.home.name
    else:
        document.pop("home", None)
    table = document.setdefault("line", tomlkit.table())
    table["pitches"] = " ".join(tone.pitch.name for tone in line.tones)
    table["times"] = " ".join(f"{_quarters(tone.onset)}+{_quarters(tone.length)}" for tone in line.tones)
    _put(document, "tone", _tone_rows(decided), ("number",))
    _put(document, "link", _link_rows(decided), ("first", "second"))
    _put(document, "local", _local_rows(decided.local), ("first", "last"))
    put_unplaced(document, decided.unplaced)
    return tomlkit.dumps(document)


def _quarters(value: float) -> str:
    """To a millionth, also late in a long score, and without a needless point."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def _tone_rows(decided: Decisions) -> dict[tuple[int, ...], dict[str, Any]]:
    columns: dict[str, dict[int, Any]] = {
        "level": dict(decided.levels),
        "line": dict(decided.voices),
        "decorates": {i: target + 1 for i, target in decided.decorates.items()},
        "phrase_ends": dict(decided.phrase_ends),
        "gesture_ends": dict(decided.gesture_ends),
        "leans_to": {i: 0 if target is None else target + 1 for i, target in decided.leans.items()},
        "bridge": dict(decided.bridges),
        "word": dict(decided.words),
    }
    numbers = sorted({i for column in columns.values() for i in column})
    return {(i + 1,): {name: column[i] for name, column in columns.items() if i in column} for i in numbers}


def _link_rows(decided: Decisions) -> dict[tuple[int, ...], dict[str, Any]]:
    return {(a + 1, b + 1): {"joined": on} for (a, b), on in sorted(decided.links.items())}


def _local_rows(local: tuple[tuple[Span, Key], ...]) -> dict[tuple[int, ...], dict[str, Any]]:
    return {(span.first + 1, span.last + 1): {"key": key.name} for span, key in local}


def _put(
    document: tomlkit.TOMLDocument, name: str, rows: dict[tuple[int, ...], dict[str, Any]], identity: tuple[str, ...]
) -> None:
    """Make the tables of that name say `rows`; a row whose own fields are all gone goes, unless it has others."""
    tables = document.get(name)
    if tables is None:
        if not rows:
            return
        tables = tomlkit.aot()
        document.append(name, tables)
        tables = document[name]
    own, waiting = set(SCHEMA[name]) - set(identity), dict(rows)
    for k in reversed(range(len(tables))):
        table = tables[k]
        wanted = waiting.pop(tuple(table[key] for key in identity), {})
        for key in own - set(wanted):
            table.pop(key, None)
        for key, value in wanted.items():
            if table.get(key) != value:
                table[key] = value
        if not wanted and set(table) <= set(identity):
            del tables[k]
    for numbers, wanted in waiting.items():
        table = tomlkit.table()
        for key, value in (*zip(identity, numbers, strict=True), *wanted.items()):
            table[key] = value
        tables.append(table)
    if not len(tables):
        document.pop(name, None)
