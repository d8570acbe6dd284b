"""Tunes whose tonic is known, whole and phrase by phrase: for fitting the home key and for judging it.

The development half of the Essen folk songs without the Chinese ones (K: is not their final), read by the open-data
scripts beside the project, and three collections of fiddle tunes in music21's corpus, read by the same scripts; half
of the latter is only judged, never fitted. Nothing of them is kept. Fiddle tunes have their printed key signature; the
folk songs' encoding writes a tonic and every accidental, so theirs is the one that needs the fewest.
"""

from __future__ import annotations

import hashlib
import importlib
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from typing import Any

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi

SCRIPTS = Path(__file__).resolve().parents[3] / "shared" / "eval"
FIDDLE = ("airdsAirs", "oneills1850", "ryansMammoth")
"""`other` are up to two inner phrases beside the middle one, `half` the first half of the phrases."""
FOLDS = 5
_SCALE = (0, 2, 4, 5, 7, 9, 11)


@dataclass(frozen=True)
class Excerpt:
    """A tune or a part of it. `tonic` is a pitch class; `minor` says that its lowered third takes more time.

    `fifths` is the tune's signature; `line` itself is as a score would be read that has none.
    """

    tune: str
    source: str
    scope: str
    line: Line
    tonic: int
    minor: bool
    fifths: int
    fitted: bool

    @property
    def fold(self) -> int:
        """0..FOLDS - 1, the same for all parts of a tune."""
        return _number(f"f{self.tune}") % FOLDS


def excerpts() -> list[Excerpt]:
    """All of them, Essen first; some seconds."""
    return [part for source, name, tune, fitted in _tunes() for part in _parts(source, name, tune, fitted)]


def _number(text: str) -> int:
    return int(hashlib.md5(text.encode()).hexdigest(), 16)


def _scripts() -> ModuleType:
    if not (SCRIPTS / "essen.py").exists():
        sys.exit("The open-data scripts (../shared/eval) are not beside the project, so tunes can't be read.")
    sys.path.insert(0, str(SCRIPTS))
    return importlib.import_module("essen")


def _tunes() -> Iterator[tuple[str, str, dict[str, Any], bool]]:
    essen = _scripts()
    for tune in essen.load("dev"):
        if not tune["chinese"]:
            yield "essen", tune["id"], tune, True
    for source in FIDDLE:
        seen = set()
        for path in sorted((Path(essen.folder()).parent / source).glob("*.abc")):
            for head, body in chunks(path.read_text(encoding="latin-1")):
                tune = essen.parse(head, body)
                if tune is None or len(tune["notes"]) < 8:
                    continue
                tune["fifths"] = sum(essen.signature(head["K"])[1].values())
                keys = [note[2] for note in tune["notes"]]
                shape = tuple(b - a for a, b in pairwise(keys))
                name = f"{source}/{path.name}:{head['X']}"
                if shape not in seen:
                    seen.add(shape)
                    yield source, name, tune, _number(name) % 2 == 0


def chunks(text: str) -> Iterator[tuple[dict[str, str], list[str]]]:
    """Head and body of each tune, without what the scripts don't read; a tune ends where its key changes."""
    for chunk in re.split(r"(?m)^(?=X:)", text)[1:]:
        head: dict[str, str] = {}
        body: list[str] = []
        for row in map(str.strip, chunk.splitlines()):
            if re.match(r"[A-Za-z]:", row):
                if "K" in head and row[0] in "KV":
                    break
                if "K" not in head:
                    head[row[0]] = row[2:].strip()
            elif "K" in head and row:
                body.append(_plain(row))
        unit = re.match(r"\d+/\d+", head.get("L", ""))
        yield head | {"L": unit.group(0) if unit else "1/8"}, body


def _plain(row: str) -> str:
    """A row of ABC without what the scripts do not read; of a chord its first note."""
    for sign in (r"%.*", r'"[^"]*"', r"![^!]*!", r"\{[^}]*\}", r"\[[A-Za-z]:[^\]]*\]"):
        row = re.sub(sign, "", row)
    row = re.sub(r"\[([\^_=]*[A-Ga-g][,']*)[^\]|]*\]", r"\1", row)
    row = re.sub(r"(\||\[)\s*\d", "|", row)
    return re.sub(r"\(\d(:\d*)*|[uvTHMPLRSOy~.\\]", "", row)


def _parts(source: str, name: str, tune: dict[str, Any], fitted: bool) -> Iterator[Excerpt]:
    notes, tonic = tune["notes"], tune["tonic"]
    above = [0.0] * 12
    for _, length, midi, _ in notes:
        above[(midi - tonic) % 12] += length
    minor = above[3] > above[4]
    fifths = tune["fifths"] if "fifths" in tune else _fewest(notes, tonic, minor)
    rows = sorted({note[3] for note in notes})
    middle = rows[len(rows) // 2]
    cut = {"whole": [rows]}
    if len(rows) >= 3:
        inner = sorted((r for r in rows[1:-1] if r != middle), key=lambda r: _number(f"{name}{r}"))
        cut |= {"first": [rows[:1]], "middle": [[middle]], "last": [rows[-1:]], "other": [[r] for r in inner[:2]]}
    if len(rows) >= 4:
        cut["half"] = [rows[: len(rows) // 2]]
    for scope, parts in cut.items():
        for part in parts:
            held = [note for note in notes if note[3] in part]
            if len(held) >= 3:
                tones = tuple(Tone(at - held[0][0], long, pitch_from_midi(midi)) for at, long, midi, _ in held)
                line = Line(tones, spelled=False)
                yield Excerpt(name, source, scope, line, tonic, minor, fifths, fitted)


def _fewest(notes: list[list[float]], tonic: int, minor: bool) -> int:
    """The signature under which the fewest notes need an accidental; of several the nearest to the tonic's scale."""
    home = 7 * tonic - (3 if minor else 0)

    def cost(fifths: int) -> tuple[int, int, int]:
        outside = sum((note[2] - 7 * fifths) % 12 not in _SCALE for note in notes)
        away = min((fifths - home) % 12, (home - fifths) % 12)
        return outside, away, abs(fifths)

    return min(range(-6, 7), key=cost)
