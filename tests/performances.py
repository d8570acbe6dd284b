"""Performances to play in tests: made by rule, so that what must sound is known."""

from __future__ import annotations

from earloop.performing.events import Event, Performance


def steps(count: int = 8, length: float = 0.5, tempo: float = 120.0, first: int = 60) -> Performance:
    """A rising chromatic run, one tone after the other, all of one length in quarters."""
    events = tuple(Event(k * length, length, first + k, 0.7, "single", source=k) for k in range(count))
    pairs = ((0.0, 0.0), (count * length, count * length))
    return Performance(events, count * length, tempo, position_map=pairs, title="Steps")


def over_a_drone(first: int = 60) -> Performance:
    """Two lines over a drone of tonic and fifth: at every moment at least three notes sound."""
    drone = [Event(0.0, 8.0, key, 0.4, "drone", legato=True) for key in (48, 55)]
    upper = [Event(2.0 * k, 2.0, first + 12 + 2 * k, 0.8, "upper", source=2 * k, legato=True) for k in range(4)]
    lower = [Event(1.0 + 2.0 * k, 1.5, first - k, 0.6, "lower", source=2 * k + 1) for k in range(3)]
    events = tuple(sorted(drone + upper + lower, key=lambda event: event.onset))
    count = tuple(Event(float(k), 0.25, 76, 0.8, "count") for k in range(2))
    return Performance(events, 8.0, 240.0, count, 2.0, ((0.0, 0.0), (8.0, 8.0)), "Over a drone")
