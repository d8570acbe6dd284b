"""Why a tone is read in its line: one plain sentence."""

from __future__ import annotations

from collections.abc import Sequence

from earloop.line import Line, Tone
from earloop.reading.record import Voice

_NUMBERS = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave")
_MEMORY = 64
"""How many tones back a line's last tone is looked for."""


def why_voice(line: Line, labels: Sequence[Voice], sure: Sequence[float], index: int) -> str:
    """The reason for the label of tone `index`, as a sentence. Raises IndexError outside the line."""
    if not 0 <= index < len(line):
        raise IndexError(f"tone {index} is outside the line of {len(line)} tones")
    label = labels[index]
    if label == "single":
        reason = "one line here: split in two, its steps would hardly be smaller"
    else:
        reason = f"{label} line: {_way_in(line, labels, index)}{_other_side(line, labels, index)}"
    return f"{reason[0].upper()}{reason[1:]}{_doubt(sure[index])}."


def _way_in(line: Line, labels: Sequence[Voice], index: int) -> str:
    own = _last(labels, index, same=True)
    if own is None:
        return "it begins here"
    lag = index - own
    if _in_neighbor_figure(line, labels, index):
        return "its neighbor figure stays together"
    where = "the tone before" if lag == 1 else f"its last tone, {line[own].pitch.name}, {lag} tones back"
    return f"{_motion(line[own], line[index])} {where}"


def _motion(first: Tone, second: Tone) -> str:
    steps = second.pitch.height - first.pitch.height
    if steps == 0:
        return "it repeats" if first.midi == second.midi else "it alters"
    way = "up" if steps > 0 else "down"
    return f"a step {way} from" if abs(steps) == 1 else f"a {_distance(steps)} {way} from"


def _other_side(line: Line, labels: Sequence[Voice], index: int) -> str:
    other = _last(labels, index, same=False)
    if other is None:
        return ""
    steps = line[index].pitch.height - line[other].pitch.height
    if steps == 0:
        return f", though the {labels[other]} line was last on the same degree"
    side = "above" if steps > 0 else "below"
    return f", a {_distance(steps)} {side} the {labels[other]} line's {line[other].pitch.name}"


def _last(labels: Sequence[Voice], index: int, *, same: bool) -> int | None:
    """The last earlier tone of the same line, or of another one; None where there is none in memory."""
    for i in range(index - 1, max(-1, index - 1 - _MEMORY), -1):
        if labels[i] != "single" and (labels[i] == labels[index]) is same:
            return i
    return None


def _in_neighbor_figure(line: Line, labels: Sequence[Voice], index: int) -> bool:
    for middle in (index, index - 1):
        if 0 < middle < len(line) - 1 and labels[middle - 1] == labels[middle] == labels[middle + 1]:
            outer, inner = line[middle - 1].midi, line[middle].midi
            if outer == line[middle + 1].midi and 1 <= abs(outer - inner) <= 2:
                return True
    return False


def _distance(steps: int) -> str:
    size = abs(steps)
    return _NUMBERS[size] if size <= 7 else f"{_NUMBERS[(size - 1) % 7 + 1]} and {_octaves((size - 1) // 7)}"


def _octaves(count: int) -> str:
    return "an octave" if count == 1 else f"{count} octaves"


def _doubt(sure: float) -> str:
    return "" if sure >= 0.9 else " (fairly sure)" if sure >= 0.7 else " (could be heard otherwise)"
