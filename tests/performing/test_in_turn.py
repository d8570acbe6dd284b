"""Two performances in one pass: nothing lost, nothing overlapping the seam, everything begun is ended."""

from __future__ import annotations

import pytest

from earloop.layers import build
from earloop.performing import Manner, perform
from earloop.performing.in_turn import in_turn
from earloop.reading import Decisions, read
from earloop.transport.moments import Unrolling, check
from tests.made_lines import line_of

LINE = line_of("G3 B4 A3 C5 B3 D5 C4 A4 G4 B3 A3 G3", "1 1 1 1 1 1 2 1 3 1 1 2")


@pytest.mark.parametrize("layer", ["skeleton", "upper", "bridged", "held", "ornamented"])
def test_the_second_begins_where_the_first_ends(layer: str) -> None:
    """Over three passes each tone of both sounds three times and stops, the second's all after the seam."""
    manner = Manner(count_in=2)
    one, two = (
        perform(reading, build(reading, layer), manner)
        for reading in (read(LINE), read(LINE, Decisions(levels={4: 5}, voices={4: "upper"}, bridges={8: True})))
    )
    both = in_turn(one, two)
    check(both)
    assert both.length == pytest.approx(one.length + two.length)
    later = both.events[len(one.events) :]
    assert all(event.onset >= one.length for event in later)
    assert [(e.midi, e.strand, round(e.onset - one.length, 6)) for e in later] == [
        (e.midi, e.strand, round(e.onset, 6)) for e in two.events
    ]
    unrolling, starts, stops = Unrolling(both, passes=3), 0, 0
    while (at := unrolling.peek()) is not None and at < 3 * both.length + 1:
        moment = unrolling.take()
        starts += moment.kind == "start"
        stops += moment.kind in ("stop", "lift")
    assert starts == stops == 3 * len(both.events)


def test_an_answer_gap_of_the_first_ends_with_it() -> None:
    """The pair has no gap of its own: silence would otherwise be shown over the second."""
    reading = read(LINE)
    one = perform(reading, build(reading, "skeleton"), Manner(answer_gap=True))
    assert in_turn(one, one).answer_from is None
