"""A cut of a line keeps its downbeats where they were."""

from __future__ import annotations

from dataclasses import replace

from earloop.line import Meter, Span
from tests.made_lines import line_of


def test_a_cut_keeps_its_downbeats() -> None:
    line = replace(line_of("C4 D4 E4 F4 G4 A4 B4 C5"), meters=((0.0, Meter(3, 4, 1.0)),))
    cut = line.cut(Span(2, 7))
    assert cut.tones[0].onset == 0.0
    meter = cut.meter
    assert meter is not None
    # The downbeat at quarter 4 of the whole is at quarter 2 of the cut.
    assert (2.0 - meter.first_downbeat) % meter.measure_length == 0
