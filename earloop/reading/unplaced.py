"""Decisions whose tone went away when the score changed: kept, told in words, put at another tone by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from earloop.line import Line, Span
from earloop.reading.decisions import Decisions, Unplaced, What
from earloop.reading.record import Key

COLUMNS: dict[What, str] = {
    "level": "levels",
    "line": "voices",
    "phrase_ends": "phrase_ends",
    "gesture_ends": "gesture_ends",
    "bridge": "bridges",
    "word": "words",
}
"""What says something of its tone alone, and the column of Decisions it is in."""
TARGETS: dict[What, str] = {"decorates": "decorates", "leans_to": "leans"}
"""What names a second tone (or none), and its column."""


def unplaced_of(lost: Decisions, old: Line | None = None) -> tuple[Unplaced, ...]:
    """Each single decision in `lost`, whose numbers are those of the `old` line, in the order of the score."""

    def pitch(index: int | None) -> str:
        return old[index].pitch.name if old is not None and index is not None and index < len(old) else ""

    def item(what: What, value: Any, tone: int, second: int | None = None) -> Unplaced:
        return Unplaced(what, value, tone, pitch(tone), second, pitch(second))

    found = [item(what, v, i) for what, name in COLUMNS.items() for i, v in getattr(lost, name).items()]
    found += [item(what, None, i, v) for what, name in TARGETS.items() for i, v in getattr(lost, name).items()]
    found += [item("link", on, a, b) for (a, b), on in lost.links.items()]
    found += [item("local", key, span.first, span.last) for span, key in lost.local]
    return (*sorted(found, key=lambda one: one.tone), *lost.unplaced)


def second_tone(item: Unplaced, at: int, size: int, marks: tuple[int, int] | None) -> int | None:
    """Where the item's second tone goes if its first goes to `at`: a marked tone, else as far on as it was.

    None where it has no second tone, or where that would lie outside the line of `size` tones.
    """
    if item.second is None:
        return None
    marked = [index for index in marks or () if index != at]
    there = min(marked, key=lambda index: abs(index - at)) if marked else at + item.second - item.tone
    return there if 0 <= there < size and there != at else at if item.what == "local" else None


def placed(decided: Decisions, item: Unplaced, at: int, second: int | None) -> Decisions:
    """The decisions with the item put at tone `at` (and its second tone at `second`), no longer waiting.

    Raises ValueError with a sentence where it needs a second tone and has none.
    """
    if item.second is not None and second is None:
        raise ValueError("its second tone would lie outside the line: mark that tone first (m), then place it")
    rest = let_go(decided, item)
    if item.what in COLUMNS:
        return _with(rest, COLUMNS[item.what], at, item.value)
    if item.what in TARGETS:
        return _with(rest, TARGETS[item.what], at, second)
    assert second is not None
    first, last = sorted((at, second))
    if item.what == "link":
        return _with(rest, "links", (first, last), item.value)
    assert isinstance(item.value, Key)
    return replace(rest, local=(*rest.local, (Span(first, last), item.value)))


def let_go(decided: Decisions, item: Unplaced) -> Decisions:
    """The decisions without the item; only one where there are several alike."""
    waiting = list(decided.unplaced)
    waiting.remove(item)
    return replace(decided, unplaced=tuple(waiting))


def _with(decided: Decisions, name: str, at: Any, value: Any) -> Decisions:
    column: Mapping[Any, Any] = getattr(decided, name)
    fields: dict[str, Any] = {name: {**column, at: value}}
    return replace(decided, **fields)


def what_it_says(item: Unplaced) -> str:
    """The decision in words, without its first tone: `in the skeleton to depth 4`."""
    yes = bool(item.value)
    second = _tone(item.second, item.second_pitch) if item.second is not None else ""
    return {
        "level": f"in the skeleton to depth {item.value}" if item.value else "on the page alone",
        "line": "of one line only" if item.value == "single" else f"of the {item.value} line",
        "decorates": f"decorates {second}",
        "phrase_ends": "a phrase ends on it" if yes else "no phrase ends on it",
        "gesture_ends": "a gesture ends on it" if yes else "no gesture ends on it",
        "leans_to": f"leans and releases to {second}" if second else "no lean",
        "link": f"{'linked with' if yes else 'not linked with'} {second}",
        "local": f"heard in {item.value.name if isinstance(item.value, Key) else item.value}, to {second}",
        "bridge": "a bridge before it" if yes else "no bridge before it",
        "word": f'the word "{item.value}" over it',
    }[item.what]


def told_unplaced(item: Unplaced) -> str:
    """The whole: `tone 14 (C5) of an earlier edition: in the skeleton to depth 4`."""
    return f"{_tone(item.tone, item.pitch)} of an earlier edition: {what_it_says(item)}"


def _tone(index: int, pitch: str) -> str:
    return f"tone {index + 1} ({pitch})" if pitch else f"tone {index + 1}"
