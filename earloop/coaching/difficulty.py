"""How hard a question is, 0 to 1, from the reading's own structure.

Every part is a distance that the ear has to bridge: tones, time, keys, depth. How they are weighed is by judgement,
no source; what a player finds hard is met by the rule in `edge.py`, which needs only the order to be about right.
"""

from __future__ import annotations

from earloop.line import Span
from earloop.reading.record import DEEPEST, Key, LocalKey, Reading


def grows(value: float, half: float) -> float:
    """0 at 0, a half at `half`, towards 1: the step from one to two weighs more than that from nine to ten."""
    return value / (value + half) if value > 0 else 0.0


def keys_apart(first: Key, second: Key) -> int:
    """How far two keys are from each other: signs of difference in their signatures, and one for the mode."""
    return abs(first.signature - second.signature) + (first.mode != second.mode)


def lightness(reading: Reading, index: int) -> float:
    """0 for a pillar, 1 for a tone that sounds on the page only."""
    return (DEEPEST - reading.weights.level[index]) / DEEPEST


def local_key(reading: Reading, index: int) -> LocalKey:
    """The key of the tone's own gesture."""
    return reading.local[reading.gesture_of(index)]


def from_home(reading: Reading, index: int) -> float:
    """0 in the home key, more the farther off the tone's own key is."""
    return grows(keys_apart(local_key(reading, index).key, reading.home.key), 2)


def away(reading: Reading, span: Span, key: Key | None = None) -> float:
    """How far the keys of the span's tones are from a key, by default the home key: the mean of `keys_apart`."""
    asked = key or reading.home.key
    return sum(keys_apart(local_key(reading, i).key, asked) for i in span.indexes) / len(span)


def held_to_scale(value: float) -> float:
    """Within 0..1, to three places."""
    return round(min(1.0, max(0.0, value)), 3)
