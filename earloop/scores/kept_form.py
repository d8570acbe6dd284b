"""Decisions ↔ the text they are kept in: TOML, format 1, for people as much as for earloop.

    format = 1
    home = "G major"                # left out: as proposed

    [line]                          # the tones decided about, so that a new edition of the score can be matched
    pitches = "G3 B4 A3"
    times = "0+1 1+1 2+0.5"         # onset+length in quarters

    [[tone]]
    number = 2                      # tones are counted from 1
    level = 4                       # deepest skeleton it sounds in, 0 to 5
    line = "upper"                  # upper, middle, lower, single
    decorates = 1
    phrase_ends = true              # false: no phrase ends here
    gesture_ends = true
    leans_to = 3                    # 0: not a lean
    bridge = true                   # sounded before it: its line's last tone; false: none
    word = "far bell"

    [[link]]
    first = 1
    second = 5
    joined = true                   # false: cut

    [[local]]
    first = 4
    last = 9
    key = "D minor"

Comments and fields that earloop doesn't know are left where they are.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from earloop.line import Line, Span, Tone
from earloop.line.pitch import pitch_from_name
from earloop.reading import DEEPEST, Decisions, Key
from earloop.scores.errors import ScoreError
from earloop.scores.key_names import key_from_name

FORMAT = 1
VOICES = ("upper", "middle", "lower", "single")
Check = Callable[[Any], bool]


def _number(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 1


def _flag(value: Any) -> bool:
    return isinstance(value, bool)


SCHEMA: dict[str, dict[str, tuple[Check, str]]] = {
    "tone": {
        "number": (_number, "a tone's number, counted from 1"),
        "level": (lambda v: v in range(DEEPEST + 1) and not _flag(v), f"a depth, 0 to {DEEPEST}"),
        "line": (lambda v: v in VOICES, "upper, middle, lower or single"),
        "decorates": (_number, "a tone's number, counted from 1"),
        "phrase_ends": (_flag, "true or false"),
        "gesture_ends": (_flag, "true or false"),
        "leans_to": (lambda v: v == 0 or _number(v), "a tone's number, or 0 for none"),
        "bridge": (_flag, "true or false"),
        "word": (lambda v: isinstance(v, str), "a word in quotation marks"),
    },
    "link": {
        "first": (_number, "a tone's number, counted from 1"),
        "second": (_number, "a tone's number, counted from 1"),
        "joined": (_flag, "true or false"),
    },
    "local": {
        "first": (_number, "a tone's number, counted from 1"),
        "last": (_number, "a tone's number, counted from 1"),
        "key": (lambda v: isinstance(v, str), "a key such as F# minor"),
    },
}
NEEDED = {"tone": ("number",), "link": ("first", "second"), "local": ("first", "last", "key")}


@dataclass
class KeptText:
    """A parsed file: the document with all its comments, the decisions in it, the line they are about (if told)."""

    document: tomlkit.TOMLDocument
    decided: Decisions = field(default_factory=Decisions)
    line: Line | None = None


def parse(text: str, name: str) -> KeptText:
    """The text of the file called `name`. Raises ScoreError with a sentence that names the line in it."""
    try:
        document = tomlkit.parse(text)
    except ParseError as error:
        raise ScoreError(f"{name}, line {error.line}: this is not TOML ({error}); mend or remove that line") from error
    plain = document.unwrap()
    version = plain.get("format")
    if version != FORMAT:
        told = "has no format number" if version is None else f"is of format {version!r}"
        raise ScoreError(f"{name} {told}, and this earloop reads format {FORMAT}: use the earloop that wrote it")
    for table in SCHEMA:
        _check_table(plain.get(table, []), table, text, name)
    try:
        return KeptText(document, _decisions(plain), _line(plain.get("line")))
    except (ValueError, IndexError, AttributeError) as error:
        at = _line_number(text, "home", None, 0) if "key" in str(error) else _line_number(text, "line", None, 0)
        raise ScoreError(f"{name}, line {at}: {error}") from error


def _check_table(rows: Any, table: str, text: str, name: str) -> None:
    if not isinstance(rows, list):
        at = _line_number(text, table, None, 0)
        raise ScoreError(f"{name}, line {at}: write [[{table}]] with two brackets on each side")
    for k, row in enumerate(rows):
        for key in NEEDED[table]:
            if key not in row:
                raise ScoreError(f"{name}, line {_line_number(text, table, None, k)}: this {table} lacks {key}")
        for key, value in row.items():
            if key in SCHEMA[table] and not SCHEMA[table][key][0](value):
                at = _line_number(text, table, key, k)
                raise ScoreError(f"{name}, line {at}: {key} = {value!r} should be {SCHEMA[table][key][1]}")


def _line_number(text: str, table: str, key: str | None, count: int) -> int:
    """Where the `count`-th table of that name stands in the text, or its key."""
    seen = -1
    for number, row in enumerate(text.splitlines(), start=1):
        if re.match(rf"\s*(\[+\s*)?{table}\s*(\]|=)", row):
            seen += 1
            if seen == count and key is None:
                return number
        elif seen == count and key is not None and re.match(rf"\s*{key}\s*=", row):
            return number
    return 1


def _decisions(plain: dict[str, Any]) -> Decisions:
    tones = [(row["number"] - 1, row) for row in plain.get("tone", [])]

    def column(key: str) -> dict[int, Any]:
        return {i: row[key] for i, row in tones if key in row}

    return Decisions(
        levels=column("level"),
        voices=column("line"),
        decorates={i: target - 1 for i, target in column("decorates").items()},
        phrase_ends=column("phrase_ends"),
        gesture_ends=column("gesture_ends"),
        home=key_from_name(plain["home"]) if plain.get("home") else None,
        local=tuple(
            (Span(row["first"] - 1, row["last"] - 1), key_from_name(row["key"])) for row in plain.get("local", [])
        ),
        leans={i: target - 1 if target else None for i, target in column("leans_to").items()},
        links={(row["first"] - 1, row["second"] - 1): row.get("joined", True) for row in plain.get("link", [])},
        bridges=column("bridge"),
        words=column("word"),
    )


def _line(table: Any) -> Line | None:
    if not table:
        return None
    pitches, times = str(table["pitches"]).split(), str(table["times"]).split()
    tones = []
    for name, time in zip(pitches, times, strict=True):
        onset, length = (float(part) for part in time.split("+"))
        tones.append(Tone(onset, length, pitch_from_name(name), grace=length == 0))
    return Line(tuple(tones))


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
    table["times"] = " ".join(f"{round(tone.onset, 6):g}+{round(tone.length, 6):g}" for tone in line.tones)
    _put(document, "tone", _tone_rows(decided), ("number",))
    _put(document, "link", _link_rows(decided), ("first", "second"))
    _put(document, "local", _local_rows(decided.local), ("first", "last"))
    return tomlkit.dumps(document)


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
