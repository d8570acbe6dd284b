"""Below the trace, under each tone: the degree meant, the degree sung, cents, early or late, how long it was held."""

from __future__ import annotations

from earloop.reading.record import Degree, Mode
from earloop.screen.picture.canvas import Canvas
from earloop.screen.signs import Signs
from earloop.screen.singing.places import Places
from earloop.screen.singing.trace_drawn import GUTTER
from earloop.session.choices import DegreeNames
from earloop.session.judging import Judged
from earloop.session.naming import PLAIN, degree_name

ROWS = ("meant", "sung", "cents", "late ms", "held %")
AMISS = "!"
"""After a figure that is outside the tolerances."""


def draw_answer(
    judged: Judged | None,
    labels: tuple[str, ...],
    places: Places,
    band: int,
    width: int,
    signs: Signs,
    names: DegreeNames,
) -> Canvas:
    """Five rows; without an answer only the degrees meant. `labels` name those."""
    canvas = Canvas(len(ROWS), width)
    for row, name in enumerate(ROWS):
        canvas.put(row, 0, name, "quiet")
    first, last = places.bands[band]
    for tone in range(first, last + 1):
        at, room = GUTTER + places.columns[tone], places.widths[tone] - 1
        canvas.put(0, at, labels[tone][:room], "skeleton")
        if judged is not None and tone < len(judged.heard.tones):
            for row, (text, style) in enumerate(cells(judged, tone, labels[tone], signs, names), start=1):
                canvas.put(row, at, text[:room], style)
    return canvas


def cells(judged: Judged, tone: int, label: str, signs: Signs, names: DegreeNames) -> list[tuple[str, str]]:
    """(text, style) of the four rows under the degree meant."""
    heard = judged.heard.tones[tone]
    if heard.verdict == "missed":
        return [("none", "lean"), ("", ""), ("", ""), ("", "")]
    wrong, other = heard.verdict == "wrong", heard.sung_degree != heard.degree
    sung = label
    if other:
        mode = judged.asked.reading.home.key.mode
        sung = signs.differs + named(heard.sung_degree or "", mode, names, signs)
    cents = "" if heard.cents is None else f"{heard.cents:+.0f}{AMISS if wrong and not other else ''}"
    late, share = judged.late(tone), judged.held[tone]
    off = judged.measure.on_the_beat and late is not None and abs(late) > judged.measure.beat_ms
    style = "lean" if wrong else "upper"
    return [
        (sung, style),
        (cents, style),
        ("" if late is None else f"{late:+d}{AMISS if off else ''}", "lean" if off else "quiet"),
        (
            "" if share is None else f"{min(999, round(100 * share))}{AMISS if judged.short(tone) else ''}",
            "lean" if judged.short(tone) else "quiet",
        ),
    ]


def named(degree: str, mode: Mode, names: DegreeNames, signs: Signs) -> str:
    """A degree such as `b3` in the performer's own names; note names have none here, so numbers stand for them."""
    number = degree.lstrip("#b")
    if names == "notes" or not number.isdigit():
        return signs.accidentals(degree)
    alter = degree.count("#") - degree.count("b")
    if names == "numbers" or not 1 <= int(number) <= len(PLAIN):
        return signs.accidentals(degree)
    from earloop.line.pitch import pitch_from_midi

    return degree_name(Degree(int(number), alter), pitch_from_midi(60), mode, names)
