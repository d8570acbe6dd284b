"""Law 7: MusicXML, ABC, Humdrum and MIDI forms of the same line give the same Line where the format can say it."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from four_formats import TRIPLET, Page, Written, write_all
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Pitch
from earloop.scores import load_line

VALUES = [Fraction(n, 4) for n in (1, 2, 3, 4, 6, 8, 12, 16)]
pitches = st.builds(Pitch, st.integers(0, 6), st.integers(-1, 1), st.integers(3, 5))


@st.composite
def notes(draw: st.DrawFn) -> list[Written]:
    """One note or rest, a tied note, two slurred notes, or a triplet."""
    kind = draw(st.sampled_from(["note", "note", "rest", "tied", "slurred", "triplet"]))
    if kind == "rest":
        return [Written(None, (draw(st.sampled_from(VALUES)),))]
    if kind == "triplet":
        return [Written(draw(pitches), (TRIPLET,)) for _ in range(3)]
    count = 2 if kind == "tied" else 1
    note = Written(
        draw(pitches),
        tuple(draw(st.sampled_from(VALUES)) for _ in range(count)),
        grace=draw(st.none() | pitches),
        fermata=draw(st.booleans()),
        breath=draw(st.booleans()),
    )
    if kind != "slurred":
        return [note]
    return [replace(note, slur_start=True), Written(draw(pitches), (Fraction(1),), slur_stop=True)]


@st.composite
def written_pages(draw: st.DrawFn) -> Page:
    metered = draw(st.booleans())
    bars = []
    for _ in range(draw(st.integers(1, 4))):
        bar = [note for group in draw(st.lists(notes(), min_size=1, max_size=5)) for note in group]
        bars.append(_fitted(bar) if metered else bar)
    if not any(note.pitch for bar in bars for note in bar):
        bars[0] = [Written(draw(pitches), (Fraction(4),))]
    barlines = tuple(draw(st.sampled_from(["plain", "dotted", "double"])) for _ in bars)
    return Page(tuple(tuple(bar) for bar in bars), barlines, draw(st.integers(-6, 6)), metered)


def _fitted(bar: list[Written]) -> list[Written]:
    """Exactly four quarters: what goes beyond is dropped (whole triplets and slurs only), rests fill up."""
    kept: list[Written] = []
    left = Fraction(4)
    groups: list[list[Written]] = []
    for note in bar:
        joins = groups and (
            note.slur_stop or (note.values == (TRIPLET,) and groups[-1][0].values == (TRIPLET,) and len(groups[-1]) < 3)
        )
        groups[-1].append(note) if joins else groups.append([note])
    for group in groups:
        length = sum((note.length for note in group), Fraction(0))
        if length <= left:
            kept += group
            left -= length
    while left:
        value = max(value for value in VALUES if value <= left)
        kept.append(Written(None, (value,)))
        left -= value
    return kept


def _tones(line: Line) -> list[tuple[object, ...]]:
    return [
        (
            tone.onset,
            tone.length,
            tone.pitch,
            tone.grace,
            tone.marks.break_after,
            tone.marks.fermata,
            tone.marks.slur_starts,
            tone.marks.slur_stops,
        )
        for tone in line
    ]


def _sounding(line: Line) -> list[tuple[float, float, int]]:
    return [(tone.onset, tone.length, tone.midi) for tone in line if not tone.grace]


@settings(max_examples=80, deadline=None)
@given(written_pages())
def test_four_forms_of_a_line_give_one_line(page: Page) -> None:
    """Graces, spelling and breaths are compared where the format has them; MIDI gives keys, onsets and lengths."""
    with tempfile.TemporaryDirectory() as folder:
        lines = {kind: load_line(path) for kind, path in write_all(page, Path(folder)).items()}
    assert _tones(lines["abc"]) == _tones(lines["musicxml"])
    assert _tones(lines["krn"]) == _tones(lines["musicxml"])
    first = next(tone.onset for tone in lines["musicxml"] if not tone.grace)
    assert first == 0.0
    assert _sounding(lines["mid"]) == _sounding(lines["musicxml"])
    for kind in ("abc", "krn", "mid"):
        assert lines[kind].meters == lines["musicxml"].meters
    assert bool(lines["musicxml"].meters) == page.metered
    assert lines["abc"].fifths == lines["krn"].fifths == lines["musicxml"].fifths == page.fifths


@settings(max_examples=60, deadline=None)
@given(written_pages())
def test_the_line_is_what_was_written(page: Page) -> None:
    """The sounding tones are the page's own notes in their own places, so the four cannot agree on an error."""
    with tempfile.TemporaryDirectory() as folder:
        line = load_line(write_all(page, Path(folder))["abc"])
    expected = []
    now = Fraction(0)
    for note in (note for bar in page.bars for note in bar):
        if note.pitch is not None:
            expected.append((now, note.length, note.pitch))
        now += note.length
    start = expected[0][0]
    plain = [tone for tone in line if not tone.grace]
    assert [(tone.onset, tone.length, tone.pitch) for tone in plain] == [
        (float(onset - start), float(length), pitch) for onset, length, pitch in expected
    ]
