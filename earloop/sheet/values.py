"""Tones cut at the bar lines and into values a single note can have."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import partial
from typing import Any

from earloop.layers.layer import LayerTone
from earloop.reading.record import Reading
from earloop.sheet.bar_lines import PaperBar
from earloop.sheet.paper_notes import exact, paper_note, put_marks

Piece = tuple[Fraction, Any]
"""(quarters from the bar's start, note or rest of a value that can be printed)."""


def pieces(
    reading: Reading,
    strand: Sequence[LayerTone],
    bars: Sequence[PaperBar],
    written: bool,
    first_notes: dict[int, tuple[Any, Any]],
) -> list[list[Piece]]:
    """For each bar the strand's notes, cut at the bar lines and into printable values, tied together."""
    rows: list[list[Piece]] = [[] for _ in bars]
    edges = [exact(bar.start) for bar in bars]
    end = exact(bars[-1].end)
    place = 0
    for tone, after in zip(strand, [*strand[1:], None], strict=True):
        onset = exact(tone.onset)
        stop = min(exact(tone.onset) + exact(tone.length), end)
        if after is not None and after.onset > tone.onset:
            stop = min(stop, exact(after.onset))
        while place + 1 < len(edges) and edges[place + 1] <= onset:
            place += 1
        note_of = partial(paper_note, reading, tone, written)
        if stop <= onset:
            row = [(place, onset - edges[place], note_of().getGrace())]
        else:
            row = _cut(note_of, onset, stop, edges, place)
        for bar, at, note in row:
            rows[bar].append((at, note))
        notes = [note for _, _, note in row]
        put_marks(notes, reading, tone)
        if tone.role == "page":
            first_notes[tone.source] = (notes[0], notes[-1])
    return rows


def _cut(
    note_of: Callable[[], Any], onset: Fraction, stop: Fraction, edges: Sequence[Fraction], place: int
) -> list[tuple[int, Fraction, Any]]:
    from music21 import tie

    row: list[tuple[int, Fraction, Any]] = []
    while onset < stop:
        until = min(stop, edges[place + 1]) if place + 1 < len(edges) else stop
        for length in printable(until - onset):
            note = note_of()
            note.duration.quarterLength = length
            row.append((place, onset - edges[place], note))
            onset += length
        place += 1
    for index, (_, _, note) in enumerate(row):
        if len(row) > 1:
            note.tie = tie.Tie("start" if index == 0 else "stop" if index == len(row) - 1 else "continue")
        if index:
            note.lyrics = []
    return row


def printable(length: Fraction) -> list[Fraction]:
    """A length as values one note can have: plain, dotted or a simple tuplet, the longest first."""
    from music21 import duration

    if length.denominator & (length.denominator - 1):
        found = duration.Duration(length)
        if found.type not in ("complex", "inexpressible"):
            return [length]
    values: list[Fraction] = []
    rest = length
    for value in _VALUES:
        while rest >= value:
            values.append(value)
            rest -= value
    return [*values, rest] if rest else values


_VALUES = [Fraction(4) * factor / 2**power for power in range(7) for factor in (Fraction(3, 2), Fraction(1))]
"""Dotted whole down to the plain sixty-fourth, in quarters."""
