"""The library's hand readings as readings of ours: each thing the hand wrote down, given as a decision."""

from __future__ import annotations

from hand_records import Record, key_of

from earloop.line import Span
from earloop.reading import Decisions, Reading, read

LEVELS = {"X": 4, "x": 3, ".": 1}
"""A depth for each sign of the skeleton's row: both that carry the line are deeper than what decorates."""


def by_hand(record: Record) -> Reading:
    """The record's line, read as the hand read it."""
    size = len(record.line)
    leans: dict[int, int | None] = dict.fromkeys(range(size))
    leans |= dict(record.leans)
    ends = {span.last for span in record.phrases}
    local = record.card["reading"].get("local", [])
    return read(
        record.line,
        Decisions(
            levels={i: LEVELS[sign] for i, sign in enumerate(record.skeleton)},
            voices=dict(enumerate(record.voices)),
            phrase_ends={i: i in ends for i in range(size - 1)},
            gesture_ends=dict.fromkeys([edge for row in local for edge in (row["first"] - 1, row["last"])], True),
            home=record.key,
            local=(
                (record.line.whole, record.key),
                *((Span(row["first"], row["last"]), key_of(row["key"])) for row in local),
            ),
            leans=leans,
        ),
    )
