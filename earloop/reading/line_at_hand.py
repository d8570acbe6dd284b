"""What several readers ask of the same line in turn is found once."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from earloop.line import Line

Found = TypeVar("Found")


def once_a_line(find: Callable[[Line], Found]) -> Callable[[Line], Found]:
    """`find`, remembered for the line that was asked about last; the line itself is not kept alive by it."""
    last: tuple[weakref.ref[Line], Found] | None = None

    @wraps(find)
    def found_once(line: Line) -> Found:
        nonlocal last
        known = last
        if known is not None and known[0]() is line:
            return known[1]
        found = find(line)
        last = weakref.ref(line), found
        return found

    return found_once
