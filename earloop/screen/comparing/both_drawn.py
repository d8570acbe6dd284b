"""What is drawn of one system for two readings: where they differ, the tones, a skeleton and a line row for each.

Every difference carries the sign of difference, in the ruler over its tones and, where the rows show it, beside the
other's degree; nothing rests on colour.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from earloop.reading import DEEPEST, Reading
from earloop.reading.differences import Difference
from earloop.reading.record import Voice
from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.systems import System
from earloop.screen.signs import Signs

GUTTER = 11
LETTERS: dict[Voice, str] = {"upper": "U", "middle": "M", "lower": "L", "single": ""}
"""The same letters as the keys that give a tone to a line."""
RULER, TONES, SKELETONS, LINES, SIZE = 0, 1, 2, 4, 7
"""Rows of a system; mine stands above the other's."""


@dataclass(frozen=True)
class Both:
    """Everything the picture of two readings shows; the playing place left out. `present` is the chosen difference.

    `differing` are the tones at which a difference begins or ends, in order.
    """

    mine: Reading
    other: Reading
    labels: tuple[str, ...]
    degrees: tuple[tuple[str, ...], tuple[str, ...]]
    depth: int
    differing: tuple[int, ...]
    present: Difference | None
    signs: Signs

    @property
    def readings(self) -> tuple[Reading, Reading]:
        return self.mine, self.other


def draw_both(both: Both, system: System, width: int) -> Canvas:
    """The system for both readings."""
    canvas = Canvas(SIZE, width)
    _gutter(canvas, both)
    _ruler(canvas, both, system)
    for index in range(system.first, system.last + 1):
        chosen = both.present is not None and index in (both.present.first, both.present.last)
        canvas.put(TONES, column(system, index), both.labels[index], "cursor" if chosen else "")
    for side in (0, 1):
        _skeleton(canvas, both, system, side)
        _lines(canvas, both, system, side)
    for side in (0, 1):
        _ends(canvas, both, system, side)
        _leans(canvas, both, system, side)
    return canvas


def column(system: System, index: int) -> int:
    """The column on the canvas where the tone begins."""
    return GUTTER + system.column(index)


def widest_texts(both: Both) -> list[int]:
    """For each tone the length of the widest text that stands at it: a line's letter goes before its degree, and the
    sign of difference after the other's."""
    rows = zip(both.labels, *both.degrees, strict=True)
    return [max(len(label), len(mine) + 1, len(other) + 2) for label, mine, other in rows]


def _gutter(canvas: Canvas, both: Both) -> None:
    canvas.put(RULER, 0, "differs", "quiet")
    canvas.put(TONES, 0, "tones", "quiet")
    for side, name in enumerate(("you", "other")):
        canvas.put(SKELETONS + side, 0, f"{name} d{both.depth}", "quiet")
        canvas.put(LINES + side, 0, f"{name} line", "quiet")


def _ruler(canvas: Canvas, both: Both, system: System) -> None:
    for index in _within(both.differing, system):
        canvas.put(RULER, column(system, index), both.signs.differs, "mark")
    present = both.present
    if present is None:
        return
    for index in {present.first, present.last}:
        if system.holds(index):
            canvas.put(RULER, column(system, index), both.signs.cursor, "mark")
    if present.first <= system.last and present.last >= system.first:
        start = column(system, present.first) if system.holds(present.first) else GUTTER
        stop = column(system, present.last) if system.holds(present.last) else canvas.width
        canvas.fill(RULER, start, stop, both.signs.rule, "mark")


def _skeleton(canvas: Canvas, both: Both, system: System, side: int) -> None:
    reading, row = both.readings[side], SKELETONS + side
    for index in range(system.first, system.last + 1):
        levels = [r.weights.level[index] for r in both.readings]
        text = ""
        if levels[side] >= both.depth:
            sign = both.signs.pillar if levels[side] == DEEPEST else both.signs.carries
            text = sign + both.degrees[side][index]
        differs = (levels[0] >= both.depth) != (levels[1] >= both.depth)
        if differs and side == 1:
            text += both.signs.differs
        canvas.put(row, column(system, index), text, "decided" if differs else "skeleton")
    level = reading.weights.level
    kept = [index for index in range(system.first, system.last + 1) if level[index] >= both.depth]
    for k, index in enumerate(kept):
        stop = kept[k + 1] if k + 1 < len(kept) else system.last + 1
        last = min(reading.phrases[reading.phrase_of(index)].last, stop - 1)
        end = column(system, last) + system.width(last) - 1
        canvas.fill(row, column(system, index), end, both.signs.prolongs, "quiet")


def _lines(canvas: Canvas, both: Both, system: System, side: int) -> None:
    reading = both.readings[side]
    for index in range(system.first, system.last + 1):
        voice: Voice = reading.voices[index]
        text, style = LETTERS[voice] + both.degrees[side][index], str(voice)
        said = [(r.voices[index], both.degrees[k][index]) for k, r in enumerate(both.readings)]
        if said[0] != said[1]:
            text, style = text + (both.signs.differs if side == 1 else ""), "decided"
        canvas.put(LINES + side, column(system, index), text, style)


def _ends(canvas: Canvas, both: Both, system: System, side: int) -> None:
    """Where this side ends a phrase or a gesture, in its own two rows."""
    reading = both.readings[side]
    for index in range(system.first, system.last + 1):
        sign = ""
        if reading.phrases[reading.phrase_of(index)].last == index:
            sign = both.signs.phrase
        elif reading.gestures[reading.gesture_of(index)].last == index:
            sign = both.signs.gesture
        for row in (SKELETONS + side, LINES + side):
            if sign:
                canvas.put(row, column(system, index) + system.width(index) - 1, sign, "boundary")


def _within(tones: tuple[int, ...], system: System) -> tuple[int, ...]:
    """Those of these tones, which are in order, that stand on the system."""
    return tones[bisect_left(tones, system.first) : bisect_right(tones, system.last)]


def _leans(canvas: Canvas, both: Both, system: System, side: int) -> None:
    for lean in both.readings[side].leans:
        if not (system.holds(lean.lean) and system.holds(lean.release)):
            continue
        row, stop = LINES + side, column(system, lean.release)
        start = column(system, lean.lean)
        canvas.fill(row, start, stop, both.signs.lean, "lean")
        canvas.put(row, stop - 1, both.signs.release, "lean")
