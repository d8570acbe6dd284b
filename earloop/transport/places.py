"""Performed time ↔ the line's own time, by a performance's position map."""

from __future__ import annotations

from bisect import bisect_right

from earloop.performing.events import Performance


def line_place(performance: Performance, place: float) -> float:
    """The line's quarters at `place` performed quarters; the same number where there is no map."""
    return _between(performance.position_map, 0, max(0.0, place))


def performed_place(performance: Performance, line_quarters: float) -> float:
    """The first performed quarters at which the line is at `line_quarters`."""
    return _between(performance.position_map, 1, line_quarters)


def same_place(old: Performance, new: Performance, place: float) -> float:
    """Where in `new` the line is where it was at `place` in `old`; the start where `new` doesn't hold that place."""
    if not (old.position_map and new.position_map):
        return place if 0 <= place < new.length else 0.0
    where = line_place(old, place)
    points = new.position_map
    if not points[0][1] <= where <= points[-1][1]:
        return 0.0
    found = performed_place(new, where)
    return found if 0 <= found < new.length else 0.0


def _between(points: tuple[tuple[float, float], ...], known: int, value: float) -> float:
    """Straight interpolation; `known` says which column `value` is in. Outside the map it goes on one to one."""
    if not points:
        return value
    wanted = 1 - known
    index = bisect_right(points, value, key=lambda point: point[known])
    if index == 0:
        return points[0][wanted] + (value - points[0][known] if wanted == 0 else 0.0)
    if index == len(points):
        return points[-1][wanted] if wanted == 1 else points[-1][0] + (value - points[-1][1])
    left, right = points[index - 1], points[index]
    width = right[known] - left[known]
    share = (value - left[known]) / width if width > 0 else 0.0
    return left[wanted] + share * (right[wanted] - left[wanted])
