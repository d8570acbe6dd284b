"""The folk songs' printed meters, and which of them have bar lines at unequal distances."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import NamedTuple

from tests.bench.tonic_tunes import chunks

EVEN = 0.8
"""So many of a tune's bar lines, or more, stand a whole number of measures apart where its meter holds throughout."""


class Printed(NamedTuple):
    """A tune's meter, (0, 0) where it has none, and whether its bar lines keep to it."""

    beats: int
    unit: int
    even: bool


def printed(essen: ModuleType) -> dict[str, Printed]:
    """By the tunes' names as the open-data script `essen` gives them."""
    found = {}
    for path in sorted(Path(essen.folder()).glob("*.abc")):
        for head, body in chunks(path.read_text(encoding="latin-1")):
            meter = re.search(r"(\d+)/(\d+)", head.get("M", ""))
            beats, unit = (int(meter[1]), int(meter[2])) if meter else (0, 0)
            even = bool(meter) and _even(list(_bar_lines(essen, head, body)), 4.0 * beats / unit)
            found[f"{path.name}:{head['X']}"] = Printed(beats, unit, even)
    return found


def _even(places: list[float], measure: float) -> bool:
    """Whether most bar lines stand a whole number of measures apart."""
    within = Counter(round(place % measure, 3) % measure for place in places)
    return not places or within.most_common(1)[0][1] >= EVEN * len(places)


def _bar_lines(essen: ModuleType, head: dict[str, str], body: list[str]) -> Iterator[float]:
    """Quarters from the start to each bar line."""
    parts, whole = map(int, head["L"].split("/"))
    time = 0.0
    for note in (note for row in body for note in essen.TOKEN.finditer(row)):
        if note[7]:
            yield time
            continue
        length = 4 * parts / whole * int(note[4] or 1)
        if note[5]:
            divided = note[5].lstrip("/")
            length /= int(divided) if divided else 2 ** len(note[5])
        time += length
