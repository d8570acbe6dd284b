"""Taking over what another reading says: one difference, so that it stands as decided, or the whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from earloop.line import Span
from earloop.reading.decisions import Decisions
from earloop.reading.differences import Difference, Kind, differences
from earloop.reading.record import Key, Reading

Reader = Callable[[Decisions], Reading]

_FIELDS: dict[Kind, str] = {
    "phrase": "phrase_ends",
    "gesture": "gesture_ends",
    "level": "levels",
    "decorates": "decorates",
    "lean": "leans",
    "link": "links",
    "bridge": "bridges",
    "word": "words",
}


def with_taken(reads: Reader, mine: Decisions, other: Reading, others: Decisions, difference: Difference) -> Decisions:
    """My decisions with the other's side of one difference; the same decisions where nothing brings it about.

    `reads` gives the reading of the line around decisions (as `Readers.read` does). `others` are the decisions behind
    the `other` reading. Where the other side is what would be proposed anyway, my
    own decision is taken away; where that does not do it, what the other hears is decided.
    """
    for candidate in _ways(mine, other, others, difference):
        if candidate != mine and not _still_there(reads, candidate, other, difference):
            return candidate
    return mine


def with_all_taken(mine: Decisions, others: Decisions) -> Decisions:
    """The other's decisions in place of mine: read again, they give the other's reading whole.

    What waits for a place, of mine or of theirs, waits on: taking over loses nothing.
    """
    theirs = (item for item in others.unplaced if item not in mine.unplaced)
    return replace(others, unplaced=(*mine.unplaced, *theirs))


def _still_there(reads: Reader, decided: Decisions, other: Reading, difference: Difference) -> bool:
    left = (d for d in differences(reads(decided), other) if d.kind == difference.kind)
    if difference.kind in ("line", "local"):
        return any(d.first <= difference.last and difference.first <= d.last for d in left)
    return any(d.what == difference.what for d in left)


def _ways(mine: Decisions, other: Reading, others: Decisions, d: Difference) -> list[Decisions]:
    if d.kind == "home":
        return [replace(mine, home=others.home), replace(mine, home=d.other)]  # type: ignore[arg-type]
    if d.kind == "line":
        return _line_ways(mine, other, others, Span(d.first, d.last))
    if d.kind == "local":
        return _local_ways(mine, others, d)
    name, at = _FIELDS[d.kind], (d.first, d.last) if d.kind == "link" else d.first
    own, theirs = dict(getattr(mine, name)), getattr(others, name)
    without: dict[Any, Any] = {key: value for key, value in own.items() if key != at}
    like_theirs = {**without, at: theirs[at]} if at in theirs else without
    ways = [_changed(mine, name, like_theirs)]
    if d.kind != "word":
        ways.append(_changed(mine, name, {**without, at: d.other}))
    return ways


def _changed(decided: Decisions, name: str, column: Any) -> Decisions:
    fields: dict[str, Any] = {name: column}
    return replace(decided, **fields)


def _line_ways(mine: Decisions, other: Reading, others: Decisions, span: Span) -> list[Decisions]:
    """Without my lines in the span and with theirs; then with the lines they hear there."""
    without = {i: voice for i, voice in mine.voices.items() if i not in span}
    theirs = {i: voice for i, voice in others.voices.items() if i in span}
    heard = {i: other.voices[i] for i in span.indexes}
    return [replace(mine, voices={**without, **theirs}), replace(mine, voices={**without, **heard})]


def _local_ways(mine: Decisions, others: Decisions, d: Difference) -> list[Decisions]:
    """Without my keys in the span; with theirs; with the key they hear there."""
    span = Span(d.first, d.last)
    apart = tuple(pair for pair in mine.local if not _overlap(pair[0], span))
    inside = tuple(pair for pair in mine.local if not (span.first <= pair[0].first and pair[0].last <= span.last))
    theirs = tuple(pair for pair in others.local if _overlap(pair[0], span))
    assert isinstance(d.other, Key)
    return [
        replace(mine, local=(*apart, *theirs)),
        replace(mine, local=(*inside, *theirs)),
        replace(mine, local=(*inside, (span, d.other))),
    ]


def _overlap(one: Span, two: Span) -> bool:
    return one.first <= two.last and two.first <= one.last
