"""A difference between two readings, told in one plain sentence with both sides."""

from __future__ import annotations

from collections.abc import Callable

from earloop.line import Line
from earloop.reading.differences import SEVERAL, Difference, Kind, Value
from earloop.reading.record import Key

YOU = "you"
"""The side that is spoken to."""
NAMES: dict[Kind, str] = {
    "home": "home key",
    "phrase": "phrase end",
    "gesture": "gesture end",
    "local": "local key",
    "line": "line",
    "level": "skeleton",
    "decorates": "decorates",
    "lean": "lean",
    "link": "link",
    "bridge": "bridge",
    "word": "word",
}
"""What each kind is called in a list."""


def told(line: Line, difference: Difference, mine: str = YOU, other: str = "the other") -> str:
    """The whole sentence; `mine` and `other` are what the two sides are called."""
    first, second = _SIDES[difference.kind](line, difference)
    return f"{_about(line, difference)}: {mine} {_verb(first, mine)}, {other} {_verb(second, other)}."


def in_short(difference: Difference) -> tuple[str, str, str, str]:
    """The tone or tones, what it is about, and both sides in a word or two: the cells of a list."""
    tones = str(difference.first + 1)
    if difference.kind == "home":
        tones = "all"
    elif difference.last != difference.first:
        tones += f"-{difference.last + 1}"
    mine, other = _short(difference, difference.mine), _short(difference, difference.other)
    return tones, NAMES[difference.kind], mine, other


def tone_named(line: Line, index: int) -> str:
    """`tone 14 (C5)`."""
    return f"tone {index + 1} ({line[index].pitch.name})"


def _about(line: Line, d: Difference) -> str:
    if d.kind == "home":
        return "the whole line"
    if d.kind == "link":
        return f"{tone_named(line, d.first)} and {tone_named(line, d.last)}"
    if d.kind in ("local", "line") and d.first != d.last:
        names = line[d.first].pitch.name, line[d.last].pitch.name
        return f"tones {d.first + 1} ({names[0]}) to {d.last + 1} ({names[1]})"
    return tone_named(line, d.first)


def _verb(words: str, side: str) -> str:
    """`keep/keeps it` for whoever does it."""
    verb, _, rest = words.partition(" ")
    plain, third = verb.split("/")
    return f"{plain if side == YOU else third} {rest}".rstrip()


def _both(tell: Callable[[Line, Value], str]) -> Callable[[Line, Difference], tuple[str, str]]:
    return lambda line, d: (tell(line, d.mine), tell(line, d.other))


def _level(line: Line, d: Difference) -> tuple[str, str]:
    """The side that keeps the tone longer says how long; the other lets it go."""
    levels = (int(d.mine or 0), int(d.other or 0))  # type: ignore[arg-type]
    low = min(levels)
    gone = f"let/lets it go after depth {low}" if low else "leave/leaves it to the page alone"
    kept = f"keep/keeps it in the skeleton to depth {max(levels)}"
    return (kept, gone) if levels[0] > low else (gone, kept)


def _line(line: Line, d: Difference) -> tuple[str, str]:
    it = "it" if d.first == d.last else "them"

    def side(value: Value) -> str:
        if value in ("single", SEVERAL):
            return "hear/hears one line only" if value == "single" else "hear/hears several lines"
        return f"give/gives {it} to the {value} line"

    return side(d.mine), side(d.other)


def _decorated(line: Line, value: Value) -> str:
    return f"have/has it decorate {tone_named(line, int(value))}"  # type: ignore[arg-type]


def _lean(line: Line, value: Value) -> str:
    if not isinstance(value, int):
        return "hear/hears no lean"
    return f"hear/hears it lean and release to {tone_named(line, value)}"


def _key(line: Line, value: Value) -> str:
    return f"hear/hears {value.name}" if isinstance(value, Key) else ""


def _is_there(yes: str, no: str) -> Callable[[Line, Difference], tuple[str, str]]:
    return _both(lambda _, value: yes if value else no)


_SIDES: dict[Kind, Callable[[Line, Difference], tuple[str, str]]] = {
    "home": _both(_key),
    "local": _both(_key),
    "phrase": _is_there("end/ends a phrase on it", "end/ends no phrase there"),
    "gesture": _is_there("end/ends a gesture on it", "end/ends no gesture there"),
    "line": _line,
    "level": _level,
    "decorates": _both(_decorated),
    "lean": _both(_lean),
    "link": _is_there("link/links them", "keep/keeps them apart"),
    "bridge": _is_there("set/sets a bridge before it", "set/sets no bridge"),
    "word": _both(lambda _, value: f'write/writes "{value}" over it' if value else "write/writes none over it"),
}


def _short(d: Difference, value: Value) -> str:
    if isinstance(value, Key):
        return value.name
    if d.kind == "level":
        return f"depth {value}" if value else "page only"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return f"to {value + 1}"
    return str(value) if value else "none"
