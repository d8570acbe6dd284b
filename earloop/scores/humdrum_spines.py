"""What music21's Humdrum reader drops: slurs, breaths (`,`), printed names, sung syllables; read beside it.

A spine that splits into sub-spines is left as music21 gives it: there the order of notes is no longer one voice's.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from earloop.scores.bars import PartPage
from earloop.scores.printed_signs import stronger


@dataclass(slots=True)
class Spine:
    """One spine from its first line to its last. `notes` are note tokens, `words` their syllables (`` for none).

    `light_bars` holds how many notes stood before each dotted, dashed or short bar line.
    """

    kind: str
    name: str = ""
    notes: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    light_bars: list[int] = field(default_factory=list)
    whole: bool = True


def numbered(text: str) -> str:
    """The text with a number on every bar line: without one music21 places a bar's first grace note outside it."""
    lines = text.splitlines()
    any_number = any(re.match(r"=+\d", line) for line in lines)
    last = 0
    suffix = 0
    for index, line in enumerate(lines):
        if not line.startswith("=") or line.startswith("=="):
            continue
        found = re.match(r"=(\d+)", line)
        if found:
            last, suffix = int(found[1]), 0
            continue
        if any_number and last:
            suffix += 1
            label = f"{last}{'abcdefghijklmnopqrstuvwxyz'[(suffix - 1) % 26]}"
        else:
            last += 1
            label = str(last)
        lines[index] = "\t".join(re.sub(r"^=(?!\d)", f"={label}", token) for token in line.split("\t"))
    return "\n".join(lines) + "\n"


def spines(text: str) -> list[Spine]:
    """The spines of the file by the column they begin in; a file of several movements is read up to the first's end."""
    found: list[Spine] = []
    columns: list[int] = []
    for line in text.splitlines():
        if not line or line.startswith("!"):
            continue
        tokens = line.split("\t")
        if line.startswith("**") and not found:
            found = [Spine(token) for token in tokens]
            columns = list(range(len(tokens)))
        elif line.startswith("*"):
            columns = _after(tokens, columns, found)
            if not columns:
                break
        elif line.startswith("="):
            _bar_line(tokens, columns, found)
        elif len(tokens) == len(columns):
            _data(tokens, columns, found)
    return found


def _after(tokens: list[str], columns: list[int], found: list[Spine]) -> list[int]:
    """The columns below a line of interpretations: splits, joins, swaps and ends are followed."""
    after: list[int] = []
    for place, (token, column) in enumerate(zip(tokens, columns, strict=False)):
        joined = token == "*v" and place and tokens[place - 1] == "*v" and columns[place - 1] == column
        if token == "*-" or joined:
            continue
        after.append(column)
        if token == "*^":
            after.append(column)
            found[column].whole = False
        elif token == "*+" or token == "*x":
            found[column].whole = False
        elif token.startswith('*I"'):
            found[column].name = found[column].name or token[3:].strip()
    return after


def _bar_line(tokens: list[str], columns: list[int], found: list[Spine]) -> None:
    """`=.`, `=:` and `='` are drawn dotted, dashed and short (as the Humdrum notation tools draw them; from memory)."""
    for token, column in zip(tokens, columns, strict=False):
        if re.fullmatch(r"=\d*[a-z]?[.:']", token):
            found[column].light_bars.append(len(found[column].notes))


def _data(tokens: list[str], columns: list[int], found: list[Spine]) -> None:
    for place, (token, column) in enumerate(zip(tokens, columns, strict=True)):
        spine = found[column]
        if spine.kind != "**kern" or token == "." or "r" in token or not re.search("[A-Ga-g]", token):
            continue
        spine.notes.append(token)
        spine.words.append(_word(tokens[place + 1 :], columns[place + 1 :], found))


def _word(tokens: list[str], columns: list[int], found: list[Spine]) -> str:
    for token, column in zip(tokens, columns, strict=True):
        kind = found[column].kind
        if kind == "**kern":
            return ""
        if kind in ("**text", "**silbe", "**lyrics"):
            return "" if token in (".", "|", "_") else token.removeprefix("-").strip()
    return ""


def restore(page: PartPage, spine: Spine) -> None:
    """Put the spine's signs onto the page's notes, where both count the same notes."""
    page.name = spine.name or page.name
    entries = [entry for bar in page.bars for entry in bar.entries if entry.pitches]
    if not spine.whole or len(entries) != len(spine.notes):
        return
    for count in spine.light_bars:
        if count:
            marks = entries[count - 1].marks
            entries[count - 1].marks = replace(marks, break_after=stronger(marks.break_after, "dotted-bar"))
    for entry, token, word in zip(entries, spine.notes, spine.words, strict=True):
        first = token.split(" ")[0]
        breath = "breath" if "," in first else ""
        starts, stops = first.count("("), first.count(")")
        if breath or starts or stops or word:
            marks = entry.marks
            entry.marks = replace(
                marks,
                break_after=stronger(marks.break_after, breath),
                slur_starts=max(starts, marks.slur_starts),
                slur_stops=max(stops, marks.slur_stops),
                word=word or marks.word,
            )
