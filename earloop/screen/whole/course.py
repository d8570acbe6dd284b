"""The whole line in one width: what each column of it holds, and how it is drawn.

A column is a slice of time; where many tones begin in one, the highest and the lowest stand for them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass

from earloop.line import Span
from earloop.reading import Reading
from earloop.screen.picture.canvas import Canvas
from earloop.screen.signs import Signs

GUTTER = 10
"""Columns for the names of the rows."""
BESIDES = 5
"""Rows beside the contour: ruler, numbers, phrases, keys, decisions."""
ROOMY = 3
"""Columns a phrase has at least, on an average, where its end gets a sign of its own."""


@dataclass(frozen=True, slots=True)
class Course:
    """`tones[k]` are the tones that sound in column k, `phrases[k]` is the phrase (0-based) of the first of them.

    `keys` has the key of each phrase, `heights` the height of each tone.
    """

    reading: Reading
    tones: tuple[Span, ...]
    phrases: tuple[int, ...]
    keys: tuple[str, ...]
    heights: tuple[int, ...]

    @property
    def width(self) -> int:
        return len(self.tones)

    def column(self, tone: int) -> int:
        """The column in which the tone begins; that of its phrase where several phrases share one."""
        return min(self.width - 1, bisect_left(self.tones, tone, key=lambda span: span.last))

    def columns_of(self, phrase: int) -> range:
        """The columns of a phrase, one at the least."""
        span = self.reading.phrases[phrase]
        first = self.column(span.first)
        return range(first, max(first, self.column(span.last)) + 1)

    def phrase_at(self, column: int) -> int:
        return self.phrases[max(0, min(self.width - 1, column))]


def course_of(reading: Reading, width: int) -> Course:
    """The line in so many columns, each as long as any other in quarters."""
    tones = reading.line.tones
    start, long = tones[0].onset, max(1e-9, reading.line.end - tones[0].onset)
    places = [min(width - 1, int((tone.onset - start) / long * width + 1e-6)) for tone in tones]
    spans: list[Span] = []
    at = 0
    for column in range(width):
        first = at
        while at < len(tones) and places[at] <= column:
            at += 1
        # Where none begins, the tone before sounds on.
        spans.append(Span(first, at - 1) if at > first else Span(at - 1, at - 1))
    phrases = tuple(reading.phrase_of(span.first) for span in spans)
    heights = tuple(tone.pitch.height for tone in tones)
    return Course(reading, tuple(spans), phrases, tuple(phrase_keys(reading)), heights)


def draw_course(course: Course, signs: Signs, rows: int, decided: Collection[int], loop: Span, chosen: int) -> Canvas:
    """The course with a contour of so many rows: ruler, contour, numbers, phrases, keys, decisions."""
    canvas = Canvas(rows + BESIDES, GUTTER + course.width)
    for row, name in ((1, "tones"), (rows + 1, "phrases"), (rows + 3, "keys"), (rows + 4, f"by hand {signs.decided}")):
        canvas.put(row, 0, name[: GUTTER - 1], "quiet")
    own = course.columns_of(chosen)
    canvas.fill(0, GUTTER + course.column(loop.first), GUTTER + course.column(loop.last) + 1, signs.loop, "quiet")
    _contour(canvas, course, signs, rows, own)
    _phrases(canvas, course, signs, rows + 1, own)
    _keys(canvas, course, signs, rows + 3)
    held = {course.column(tone) for tone in decided}
    for column in held:
        canvas.put(rows + 4, GUTTER + column, signs.decided, "strong")
    return canvas


def _contour(canvas: Canvas, course: Course, signs: Signs, rows: int, own: range) -> None:
    """Highest and lowest tone of each column, and a thin line between."""
    heights = course.heights
    top, low = max(heights), min(heights)
    scale = (rows - 1) / max(1, top - low)
    for k, span in enumerate(course.tones):
        column = heights[span.first : span.last + 1]
        high, deep = (1 + round((top - height) * scale) for height in (max(column), min(column)))
        style = "skeleton" if k in own else ""
        for row in range(high, deep + 1):
            ends = row in (high, deep)
            canvas.put(row, GUTTER + k, signs.sustain if ends else signs.gesture, style if ends else "quiet")


def _phrases(canvas: Canvas, course: Course, signs: Signs, row: int, own: range) -> None:
    """Numbers where there is room, and below them each phrase as a segment that differs from its neighbours."""
    free = 0
    for phrase in range(len(course.reading.phrases)):
        at, text = course.columns_of(phrase).start, str(phrase + 1)
        if at >= free and at + len(text) <= course.width:
            canvas.put(row, GUTTER + at, text, "skeleton" if at in own else "quiet")
            free = at + len(text) + 1
    roomy = course.width >= ROOMY * len(course.reading.phrases)
    for k, phrase in enumerate(course.phrases):
        sign = signs.loop if phrase % 2 else signs.sustain
        if roomy and k + 1 < course.width and course.phrases[k + 1] != phrase:
            sign = signs.phrase
        canvas.put(row + 1, GUTTER + k, sign, "chosen" if k in own else "")


def _keys(canvas: Canvas, course: Course, signs: Signs, row: int) -> None:
    """The key most of each phrase's tones are heard in, named where it changes; minor keys in small letters."""
    before, free = None, 0
    for phrase, key in enumerate(course.keys):
        at = course.columns_of(phrase).start
        name, _, mode = key.partition(" ")
        text = signs.pitch(name if mode == "major" else name[0].lower() + name[1:])
        if key != before and at >= free:
            canvas.put(row, GUTTER + at, text, "quiet")
            before, free = key, at + len(text) + 1


def phrase_keys(reading: Reading) -> list[str]:
    """For each phrase the name of the key that most of its tones are heard in; the earlier one where two are even."""
    counts: list[Counter[str]] = [Counter() for _ in reading.phrases]
    for local in reading.local:
        counts[reading.phrase_of(local.span.first)][local.key.name] += len(local.span)
    return [count.most_common(1)[0][0] for count in counts]
