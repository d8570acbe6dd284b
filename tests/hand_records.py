"""Readings of record made by hand, ours and of passages in music21's corpus: read here, never fitted to.

And which keys lead from any other reading to one of them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import accumulate
from pathlib import Path
from typing import Any

import music21

from earloop.line import Line, Span
from earloop.line.pitch import pitch_from_name
from earloop.reading.record import Degree, Key, Reading, Voice
from earloop.scores import load_line
from earloop.scores.kept_places import ENDING

ROOT = Path(__file__).parents[1]
CORPUS = Path(music21.__file__).parent / "corpus"
VOICES: dict[str, Voice] = {"u": "upper", "m": "middle", "l": "lower", "s": "single"}

LEVELS = {"X": (5, 5), "x": (2, 4), ".": (0, 1)}
"""A pillar sounds in the barest skeleton; a tone that carries the line in the usual one; a decoration in neither."""
LINE_KEYS = {"upper": "U", "middle": "M", "lower": "L", "single": "S"}


@dataclass(frozen=True)
class Record:
    """One phrase of the library with its hand reading; columns run over the line's tones."""

    name: str
    card: dict[str, Any]
    line: Line
    key: Key
    phrases: tuple[Span, ...]
    tones: list[str]
    degrees: list[str]
    local_degrees: tuple[Degree, ...]
    voices: tuple[Voice, ...]
    skeleton: list[str]
    leans: set[tuple[int, int]]


def key_of(words: str) -> Key:
    name, mode = words.split()
    return Key(pitch_from_name(f"{name}4").fifths, "minor" if mode == "minor" else "major")


def cards() -> list[Path]:
    """What stands beside each phrase of the library; what a player decided there is kept beside it too."""
    return sorted(path for path in (ROOT / "phrases").glob("*.toml") if not path.name.endswith(ENDING))


def library() -> Iterator[Record]:
    for path in cards():
        card = tomllib.loads(path.read_text(encoding="utf-8"))
        yield record_of(path, card)


def record_of(path: Path, card: dict[str, Any]) -> Record:
    rows = card["reading"]["phrase"]
    sizes = [len(row["tones"].split()) for row in rows]
    ends = list(accumulate(sizes))
    columns = {
        name: [word for row, size in zip(rows, sizes, strict=True) for word in _words(row, name, size)]
        for name in ("tones", "degrees", "local", "lines", "skeleton")
    }
    return Record(
        name=path.stem,
        card=card,
        line=load_line(path.parent / card["score"]),
        key=key_of(card["reading"]["key"]),
        phrases=tuple(Span(end - size, end - 1) for size, end in zip(sizes, ends, strict=True)),
        tones=columns["tones"],
        degrees=columns["degrees"],
        local_degrees=tuple(Degree(int(w[-1]), w.count("#") - w.count("b")) for w in columns["local"]),
        voices=tuple(VOICES[word] for word in columns["lines"]),
        skeleton=columns["skeleton"],
        leans=_leans(rows, [end - size for size, end in zip(sizes, ends, strict=True)]),
    )


def _words(row: dict[str, str], name: str, size: int) -> list[str]:
    if name == "local" and name not in row:
        name = "degrees"
    words = row[name].split() if name in row else ["s"] * size
    assert len(words) == size, f"row {name} has {len(words)} words for {size} tones"
    return words


def _leans(rows: list[dict[str, str]], starts: list[int]) -> set[tuple[int, int]]:
    out = set()
    for row, start in zip(rows, starts, strict=True):
        signs = row["leans"].split()
        places = {sign: start + i for i, word in enumerate(signs) for sign in word if sign != "."}
        out |= {(places[sign], places[sign.upper()]) for sign in places if sign.islower()}
    return out


@dataclass(frozen=True)
class Passage:
    """A passage of public-domain music with its leans by hand; `arguable` ones count neither as right nor as wrong.

    `work` is what the passage is from: all movements of a quartet are one work.
    """

    name: str
    work: str
    line: Line
    key: Key
    tones: list[str]
    leans: set[tuple[int, int]]
    arguable: set[tuple[int, int]]
    major: bool


FOLDERS = {
    "first": "",
    "second": "second",
    "third": "third",
    "fourth": "fourth",
    "fifth": "fifth",
    "sixth": "sixth",
    "seventh": "seventh",
    "eighth": "eighth",
    "ninth": "ninth",
}
"""Rules are made with all of them but the fifth, eighth and ninth, which only measure.

The last two set how sure leans are said to be."""


def passages(folder: str = "") -> Iterator[Passage]:
    """The passages of one set, read from music21's corpus; `free` ones lose their bar lines.

    A second reader went over the first two sets with the scores. The later ones were each written down before
    the rules that they judge were made and before any reader of ours had run on them.
    """
    for path in sorted((ROOT / "tests" / "records" / folder).glob("*.toml")):
        row = tomllib.loads(path.read_text(encoding="utf-8"))
        line = load_line(
            CORPUS / row["score"],
            first_measure=row.get("first_measure"),
            last_measure=row.get("last_measure"),
            tune=row.get("tune"),
        )
        if row.get("free"):
            line = replace(line, meters=())
        key = key_of(row["key"])
        yield Passage(
            path.stem,
            _work(row),
            line,
            key,
            row["tones"].split(),
            _pairs(row["leans"]),
            _pairs(row.get("arguable", [])),
            key.mode == "major",
        )


def _work(row: dict[str, Any]) -> str:
    """The folder of a work in movements, else its score, with the number of the tune."""
    score = str(row["score"])
    return score.rpartition("/")[0] if "movement" in score else f"{score} {row.get('tune', '')}".strip()


def _pairs(rows: list[dict[str, Any]]) -> set[tuple[int, int]]:
    return {(row["lean"], row["release"]) for row in rows}


def wanted(reading: Reading, record: Record) -> tuple[int, list[str]] | None:
    """The next tone that is read otherwise than by hand, and the keys that mend it; None where there is none left."""
    ends, goal = ({span.last for span in phrases} for phrases in (reading.phrases, record.phrases))
    for tone in sorted(ends ^ goal):
        return tone, ["e"]
    for tone, (voice, line) in enumerate(zip(reading.voices, record.voices, strict=True)):
        if voice != line:
            return tone, [LINE_KEYS[line]]
    leans = {(lean.lean, lean.release) for lean in reading.leans}
    for tone, _ in sorted(leans - record.leans):
        return tone, ["y"]
    for tone, release in sorted(record.leans - leans):
        return tone, ["Y", *["right"] * (release - tone), "Y"]
    for tone, sign in enumerate(record.skeleton):
        lowest, highest = LEVELS[sign]
        level = reading.weights.level[tone]
        if not lowest <= level <= highest:
            return tone, ["r"] * (lowest - level) + ["f"] * (level - highest)
    return None


@dataclass(frozen=True)
class Heads:
    """First measures of a work with a sign a tone: `X` heads its measure, `x` half of it, `.` neither, `` unread."""

    name: str
    line: Line
    signs: list[str]


def heads() -> Iterator[Heads]:
    """The measures whose heads were read by hand; see the record's own note on what they are good for."""
    card = tomllib.loads((ROOT / "tests" / "records" / "heads" / "by-hand.toml").read_text(encoding="utf-8"))
    for row in card["passage"]:
        rows = dict(text.split(": ") for text in row["heads"])
        numbers = [int(number) for number in rows]
        line = load_line(CORPUS / row["score"], first_measure=min(numbers), last_measure=max(numbers))
        signs = [""] * len(line)
        for number, words in rows.items():
            inside = [i for i, tone in enumerate(line.tones) if tone.measure == number and not tone.grace]
            assert len(inside) == len(words.split()), f"{row['score']}, measure {number}"
            for index, sign in zip(inside, words.split(), strict=True):
                signs[index] = sign
        yield Heads(row["score"], line, signs)


@dataclass(frozen=True)
class HandTree:
    """Which tone governs each tone of a line, by one reader: -1 at the root; `arguable` tones count neither way."""

    governed_by: list[int]
    arguable: set[int]

    def depth(self, tone: int) -> int:
        """How many tones stand above it."""
        steps = 0
        while self.governed_by[tone] >= 0:
            tone, steps = self.governed_by[tone], steps + 1
        return steps


@dataclass(frozen=True)
class TreeOf:
    """A passage with its trees, one a reader; see `tests/records/trees/rules.md`."""

    name: str
    line: Line
    trees: tuple[HandTree, ...]


def trees(folder: str = "") -> Iterator[TreeOf]:
    """The passages whose time-span trees were read by hand; those in `further` were read once each.

    Nothing is fitted to those in `measuring`.
    """
    for path in sorted((ROOT / "tests" / "records" / "trees" / folder).glob("*.toml")):
        for row in tomllib.loads(path.read_text(encoding="utf-8"))["passage"]:
            measures = {name: row.get(name) for name in ("first_measure", "last_measure", "tune")}
            line = load_line(CORPUS / row["score"], **measures)
            readers = [row[name] for name in ("first", "second") if name in row]
            read = tuple(HandTree(reader["governed_by"], set(reader["arguable"])) for reader in readers)
            assert all(len(tree.governed_by) == len(line) for tree in read), row["score"]
            yield TreeOf(" ".join(str(row[k]) for k in ("score", "tune") if k in row), line, read)
