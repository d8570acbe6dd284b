"""What is drawn of one system: ruler, words, contour, skeleton, a row for each implied line, and what was decided.

Decided things carry the decided sign and their own row beside a style; nothing rests on colour alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from earloop.layers import Layer
from earloop.line import Span
from earloop.reading import DEEPEST, Decisions, Reading
from earloop.reading.record import Voice
from earloop.screen.picture.canvas import Canvas
from earloop.screen.picture.systems import System
from earloop.screen.signs import Signs

GUTTER = 10
"""Columns for the names of the rows."""
ROW_ORDER: tuple[Voice, ...] = ("upper", "middle", "lower", "single")


@dataclass(frozen=True)
class Scene:
    """Everything the picture shows, the moving parts (cursor, playing place) left out.

    `labels` are pitch names and `degrees` the degrees as the performer wants them named, one a tone, signs already
    chosen; `named` says how they are named and in which key. `depth` is that of the skeleton's row. `decided_about`
    says what was decided by hand about a tone.
    """

    reading: Reading
    labels: tuple[str, ...]
    degrees: tuple[str, ...]
    layer: Layer
    depth: int
    loop: Span
    named: tuple[str, str]
    marks: tuple[int, int] | None
    decided: Decisions
    decided_about: Callable[[int], tuple[str, ...]]
    signs: Signs

    @cached_property
    def decided_tones(self) -> frozenset[int]:
        """The tones about which something was decided by hand."""
        return self.decided.tones

    @cached_property
    def worded_tones(self) -> frozenset[int]:
        return frozenset(index for index, _ in self.reading.words)

    @cached_property
    def phrase_ends(self) -> frozenset[int]:
        return frozenset(span.last for span in self.reading.phrases)

    @cached_property
    def gesture_ends(self) -> frozenset[int]:
        return frozenset(span.last for span in self.reading.gestures)

    @cached_property
    def sounding(self) -> dict[int, float]:
        """How long each tone of the layer sounds, in quarters; bridges and held tones left out."""
        return {tone.source: tone.end - tone.onset for tone in self.layer.tones if tone.role == "page"}

    @cached_property
    def line_rows(self) -> tuple[Voice, ...]:
        """The implied lines that have a row, from high to low."""
        return tuple(voice for voice in ROW_ORDER if voice in self.reading.voices)


@dataclass(frozen=True, slots=True)
class Rows:
    """Which row of a system shows what; -1 where there is none. `size` counts the blank row below."""

    contour: int
    contour_rows: int
    words: int
    skeleton: int
    lines: int
    by_hand: int
    size: int


def rows_of(scene: Scene, contour_rows: int, worded: bool, decided: bool) -> Rows:
    """The rows of a system, with those for words and for decisions where it has some."""
    words = 1 if worded else -1
    contour = 2 if words == 1 else 1
    skeleton = contour + contour_rows
    lines = skeleton + 1
    after = lines + len(scene.line_rows)
    by_hand = after if decided else -1
    return Rows(contour, contour_rows, words, skeleton, lines, by_hand, after + (by_hand >= 0) + 1)


def contour_row(scene: Scene, system: System, rows: Rows, index: int) -> int:
    """The row the tone's name stands on: the highest tone of the system on top."""
    heights = [scene.reading.line[i].pitch.height for i in range(system.first, system.last + 1)]
    top, low = max(heights), min(heights)
    below = top - scene.reading.line[index].pitch.height
    if top - low >= rows.contour_rows:
        below = round(below * (rows.contour_rows - 1) / (top - low))
    return rows.contour + below


def draw(scene: Scene, system: System, rows: Rows, width: int) -> Canvas:
    """The system as it stands, without cursor and playing place."""
    canvas = Canvas(rows.size, width)
    _gutter(canvas, scene, system, rows)
    _ruler(canvas, scene, system)
    _words(canvas, scene, system, rows)
    _contour(canvas, scene, system, rows)
    _skeleton(canvas, scene, system, rows)
    _degrees(canvas, scene, system, rows)
    _boundaries(canvas, scene, system, rows)
    _leans(canvas, scene, system, rows)
    _links(canvas, scene, system, rows)
    _by_hand(canvas, scene, system, rows)
    return canvas


def column(system: System, index: int) -> int:
    """The column on the canvas where the tone begins."""
    return GUTTER + system.column(index)


def _gutter(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    canvas.put(0, 0, f"phrase {scene.reading.phrase_of(system.first) + 1}"[: GUTTER - 1], "quiet")
    canvas.put(rows.contour, 0, "tones", "quiet")
    canvas.put(rows.skeleton, 0, f"depth {scene.depth}", "quiet")
    for k, voice in enumerate(scene.line_rows):
        name = voice if scene.reading.compound else "line"
        canvas.put(rows.lines + k, 0, name, voice)
    if rows.by_hand >= 0:
        canvas.put(rows.by_hand, 0, f"by hand {scene.signs.decided}"[: GUTTER - 1], "quiet")
    if rows.words >= 0:
        canvas.put(rows.words, 0, "words", "quiet")


def _ruler(canvas: Canvas, scene: Scene, system: System) -> None:
    for index in range(system.first, system.last + 1):
        if index in scene.loop:
            at = column(system, index)
            last = at + system.width(index) - (1 if index == scene.loop.last else 0)
            canvas.fill(0, at, last, scene.signs.loop, "quiet")
    for index in scene.marks or ():
        if system.holds(index):
            canvas.put(0, column(system, index) + 1, scene.signs.mark, "mark")


def _words(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    shown = [(index, word) for index, word in scene.reading.words if system.holds(index)]
    for k, (index, word) in enumerate(shown):
        end = column(system, shown[k + 1][0]) - 1 if k + 1 < len(shown) else canvas.width
        canvas.put(rows.words, column(system, index), word[: max(1, end - column(system, index))], "word")


def _contour(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    sounding = scene.sounding
    for index in range(system.first, system.last + 1):
        style = scene.reading.voices[index] if index in sounding or index not in scene.loop else "quiet"
        canvas.put(contour_row(scene, system, rows, index), column(system, index), scene.labels[index], style)
    line = scene.reading.line
    for index in range(system.first, system.last + 1):
        if index in sounding:
            start = column(system, index) + len(scene.labels[index])
            end = _column_of_time(scene, system, line[index].onset + sounding[index])
            row = contour_row(scene, system, rows, index)
            canvas.fill(row, start, end, scene.signs.sustain, scene.reading.voices[index])


def _column_of_time(scene: Scene, system: System, quarters: float) -> int:
    """Where a moment of the line stands on the canvas; a column is kept free before the next tone's name."""
    tones = scene.reading.line.tones
    for index in range(system.first, system.last + 1):
        until = tones[index + 1].onset if index + 1 < len(tones) else tones[index].end
        if quarters <= until + 1e-6:
            share = (quarters - tones[index].onset) / max(1e-6, until - tones[index].onset)
            return column(system, index) + max(0, round(share * system.width(index))) - 1
    return column(system, system.last) + system.width(system.last) - 1


def _skeleton(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    level = scene.reading.weights.level
    kept = [index for index in range(system.first, system.last + 1) if level[index] >= scene.depth]
    for index in kept:
        sign = scene.signs.pillar if level[index] == DEEPEST else scene.signs.carries
        canvas.put(rows.skeleton, column(system, index), sign + scene.degrees[index], "skeleton")
    for k, index in enumerate(kept):
        phrase = scene.reading.phrases[scene.reading.phrase_of(index)]
        last = min(phrase.last, system.last, kept[k + 1] - 1 if k + 1 < len(kept) else system.last)
        end = column(system, last) + system.width(last) - 1
        start = column(system, index) + 1 + len(scene.degrees[index])
        canvas.fill(rows.skeleton, start, end, scene.signs.prolongs, "quiet")


def _row_of(scene: Scene, rows: Rows, index: int) -> int:
    return rows.lines + scene.line_rows.index(scene.reading.voices[index])


def _degrees(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    for index in range(system.first, system.last + 1):
        style: str = scene.reading.voices[index]
        text = scene.degrees[index]
        if index in scene.decided.voices or index in scene.decided.levels or index in scene.decided.decorates:
            text, style = text + scene.signs.decided, "decided"
        canvas.put(_row_of(scene, rows, index), column(system, index), text, style)
    for bridge in scene.reading.bridges:
        if system.holds(bridge.before):
            style = "decided" if bridge.before in scene.decided.bridges else "bridge"
            at = max(GUTTER - 1, column(system, bridge.before) - 1)
            canvas.put(_row_of(scene, rows, bridge.before), at, scene.signs.bridge, style)


def _boundaries(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    phrases, gestures = scene.phrase_ends, scene.gesture_ends
    last_row = rows.lines + len(scene.line_rows)
    for index in range(system.first, system.last + 1):
        if index not in phrases and index not in gestures:
            continue
        sign = scene.signs.phrase if index in phrases else scene.signs.gesture
        by_hand = scene.decided.phrase_ends.get(index) or scene.decided.gesture_ends.get(index)
        at = column(system, index) + system.width(index) - 1
        for row in range(rows.contour, last_row):
            canvas.fill(row, at, at + 1, sign, "decided" if by_hand else "boundary")
        if by_hand:
            canvas.put(0, at, scene.signs.decided, "decided")


def _leans(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    for lean in scene.reading.leans:
        by_hand = lean.lean in scene.decided.leans
        ends = _ends(scene, system, lean.lean, lean.release)
        if ends is None:
            continue
        row, style = _row_of(scene, rows, lean.lean), "decided" if by_hand else "lean"
        canvas.fill(row, ends[0], ends[1], scene.signs.lean, style)
        if system.holds(lean.release):
            canvas.put(row, ends[1] - 1, scene.signs.release, style)
        if by_hand and system.holds(lean.lean):
            canvas.put(row, ends[0], scene.signs.decided, style)


def _links(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    for link in scene.reading.links:
        ends = _ends(scene, system, link.first, link.second)
        if ends is None:
            continue
        by_hand = scene.decided.links.get((link.first, link.second), False)
        row, style = _row_of(scene, rows, link.first), "decided" if by_hand else "link"
        canvas.fill(row, ends[0], ends[1], scene.signs.link, style)
        if by_hand:
            canvas.put(row, ends[0], scene.signs.decided, style)


def _ends(scene: Scene, system: System, first: int, second: int) -> tuple[int, int] | None:
    """Columns between two tones' degrees, cut at the system's edges; None where neither is here."""
    if first > system.last or second < system.first:
        return None
    start = column(system, first) + len(scene.degrees[first]) if system.holds(first) else GUTTER
    stop = column(system, second) if system.holds(second) else GUTTER + system.columns[-1] + system.widths[-1]
    return start, stop


def _by_hand(canvas: Canvas, scene: Scene, system: System, rows: Rows) -> None:
    if rows.by_hand < 0:
        return
    places = [index for index in range(system.first, system.last + 1) if scene.decided_about(index)]
    starts = [column(system, index) for index in places]
    for index, start, end in zip(places, starts, [*starts[1:], canvas.width + 1], strict=True):
        about = scene.decided_about(index)
        text = about[0] if len(about) == 1 else f"{len(about)} {scene.signs.decided}"
        canvas.put(rows.by_hand, start, text if len(text) < end - start else scene.signs.decided, "decided")
