"""What can be learned and asked again: a layer, a link, a question's kind, each of one phrase."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from earloop.journal import Happening


@dataclass(frozen=True, slots=True, order=True)
class Item:
    """`name` is the journal's item, such as `link:12-18`; a phrase of -1 is the whole line."""

    score: str
    phrase: int
    name: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one item went once: the share that was right, 0 to 1."""

    at: datetime
    item: Item
    title: str
    share: float


def outcomes(happenings: Iterable[Happening]) -> list[Outcome]:
    """Every judged item, oldest first: what was asked or sung itself, and the links that were judged within it."""
    found: list[Outcome] = []
    for h in happenings:
        phrase = -1 if h.phrase is None else h.phrase
        at = h.at.astimezone(UTC)
        if h.result is not None:
            found.append(Outcome(at, Item(h.score, phrase, h.item), h.title, h.result))
        for name, (right, asked) in counted(h.detail.get("links")).items():
            if f"link:{name}" != h.item:
                found.append(Outcome(at, Item(h.score, phrase, f"link:{name}"), h.title, right / asked))
    return sorted(found, key=lambda one: one.at)


def counted(table: Any) -> dict[str, tuple[int, int]]:
    """`{"2": [3, 4]}` of a happening's detail as name → (right, asked); rows that are none are left out."""
    if not isinstance(table, dict):
        return {}
    good: dict[str, tuple[int, int]] = {}
    for name, pair in table.items():
        if isinstance(pair, list | tuple) and len(pair) == 2 and all(isinstance(n, int) for n in pair):
            right, asked = pair
            if 0 <= right <= asked and asked > 0:
                good[str(name)] = (right, asked)
    return good


def told(name: str) -> str:
    """An item in words: `upper`, `link from tone 13 to 19`, `question: which line`."""
    kind, _, rest = name.partition(":")
    if kind == "layer":
        return rest
    if kind == "link":
        first, _, second = rest.partition("-")
        if first.isdigit() and second.isdigit():
            return f"link from tone {int(first) + 1} to {int(second) + 1}"
    return f"{kind}: {rest.replace('_', ' ')}" if rest else kind.replace("_", " ")
