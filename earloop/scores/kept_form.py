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

`[[unplaced]]` tables hold what found no tone in this edition; `kept_unplaced.py` describes them, and the contributor's
guide the whole format. Comments and fields that earloop doesn't know are left where they are.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from earloop.line import Line, Span, Tone
from earloop.line.pitch import is_pitch_name, pitch_from_name
from earloop.reading import DEEPEST, Decisions
from earloop.scores.errors import ScoreError
from earloop.scores.kept_unplaced import items_of
from earloop.scores.key_names import is_key_name, key_from_name

FORMAT = 1
LARGEST = 5 * 1024 * 1024
"""Bytes; twenty decisions a tone on a very long score stay below."""
VOICES = ("upper", "middle", "lower", "single")
Check = Callable[[Any], bool]


def _number(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 1


def _flag(value: Any) -> bool:
    return isinstance(value, bool)


def _text(value: Any) -> bool:
    return isinstance(value, str)


def _key(value: Any) -> bool:
    return isinstance(value, str) and is_key_name(value)


def _pitch(value: Any) -> bool:
    return isinstance(value, str) and (not value or is_pitch_name(value))


_TONE: tuple[Check, str] = (_number, "a tone's number, counted from 1")
_YES_NO: tuple[Check, str] = (_flag, "true or false")
_A_KEY: tuple[Check, str] = (_key, "a key such as F# minor or Bb major")
_PITCH: tuple[Check, str] = (_pitch, "a pitch such as F#4 or Bb3")
_OF_A_TONE: dict[str, tuple[Check, str]] = {
    "level": (lambda v: v in range(DEEPEST + 1) and not _flag(v), f"a depth, 0 to {DEEPEST}"),
    "line": (lambda v: v in VOICES, "upper, middle, lower or single"),
    "decorates": _TONE,
    "phrase_ends": _YES_NO,
    "gesture_ends": _YES_NO,
    "leans_to": (lambda v: (v == 0 and not _flag(v)) or _number(v), "a tone's number, or 0 for none"),
    "bridge": _YES_NO,
    "word": (_text, "a word in quotation marks"),
}
SCHEMA: dict[str, dict[str, tuple[Check, str]]] = {
    "tone": {"number": _TONE, **_OF_A_TONE},
    "link": {"first": _TONE, "second": _TONE, "joined": _YES_NO},
    "local": {"first": _TONE, "last": _TONE, "key": _A_KEY},
    "unplaced": {
        "tone": _TONE,
        "pitch": _PITCH,
        **_OF_A_TONE,
        "link_to": _TONE,
        "joined": _YES_NO,
        "last": _TONE,
        "key": _A_KEY,
        "second_pitch": _PITCH,
    },
}
NEEDED = {"tone": ("number",), "link": ("first", "second"), "local": ("first", "last", "key"), "unplaced": ("tone",)}
ORDERED = {"link": ("first", "second"), "local": ("first", "last")}
"""Pairs of numbers that must rise; a local key may hold one tone."""


@dataclass
class KeptText:
    """A parsed file: the document with all its comments, the decisions in it, the line they are about (if told)."""

    document: tomlkit.TOMLDocument
    decided: Decisions = field(default_factory=Decisions)
    line: Line | None = None


def text_of(path: Path) -> str:
    """The text of a kept file. Raises ScoreError with one sentence."""
    try:
        if path.stat().st_size > LARGEST:
            raise ScoreError(f"{path.name} is too large to be kept decisions: choose another file")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise ScoreError(f"there is no file {path}: check the name and the folder") from None
    except (OSError, UnicodeDecodeError) as problem:
        raise ScoreError(f"{path.name} can't be read as text ({problem}): choose another file, or mend it") from None


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
    home = plain.get("home")
    if home and not _key(home):
        at = _line_number(text, "home", None, 0)
        raise ScoreError(f"{name}, line {at}: {home!r} is not a key: write it like F# minor or Bb major")
    try:
        line = _line(plain.get("line"))
    except (ValueError, LookupError, TypeError, AttributeError) as error:
        at = _line_number(text, "line", None, 0)
        told = f"[line] lacks {error}" if isinstance(error, KeyError) else f"[line] can't be understood ({error})"
        raise ScoreError(f"{name}, line {at}: {told}; remove the table, and the numbers count as they are") from error
    return KeptText(document, _decisions(plain), line)


def _check_table(rows: Any, table: str, text: str, name: str) -> None:
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
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
        if table in ORDERED:
            first, last = ORDERED[table]
            if row[first] > row[last] or (table == "link" and row[first] == row[last]):
                at = _line_number(text, table, last, k)
                raise ScoreError(f"{name}, line {at}: {last} = {row[last]} should come after {first} = {row[first]}")


def _line_number(text: str, table: str, key: str | None, count: int) -> int:
    """Where the `count`-th table of that name stands in the text, or its key; or a field above all tables."""
    seen, above = -1, True
    for number, row in enumerate(text.splitlines(), start=1):
        if re.match(rf"\s*\[+\s*{table}\s*\]", row) or (above and re.match(rf"\s*{table}\s*=", row)):
            seen += 1
            if seen == count and key is None:
                return number
        elif seen == count and key is not None and re.match(rf"\s*{key}\s*=", row):
            return number
        above = above and not re.match(r"\s*\[", row)
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
        unplaced=tuple(item for row in plain.get("unplaced", []) for item in items_of(row)),
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
