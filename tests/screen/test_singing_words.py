"""What the singing screen says in its lines: it fits 80 columns, and one is not several."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from screen_player import FakePlayer

from earloop.capture.messages import Answer
from earloop.hearing.tones_sung import SungTone
from earloop.scores import load_line
from earloop.screen.signs import DRAWN, PLAIN
from earloop.screen.singing.words import WHOSE_WORDS, result, state
from earloop.session.choices import Choices
from earloop.session.judging import Asked, Measure, judge
from earloop.session.session import Session
from earloop.session.singing import WAYS

ROOKS = Path(__file__).parents[2] / "phrases" / "07-two-rooks.musicxml"


@pytest.mark.parametrize("signs", [DRAWN, PLAIN])
def test_the_line_of_whose_turn_it_is_fits(signs) -> None:
    """Whoever's turn it is, in each way, with a drone; a wide window has room for all of it."""
    session = Session(load_line(ROOKS), FakePlayer(), Choices(drone="fifth"))
    for whose, way in product(WHOSE_WORDS, WAYS):
        said = state(whose, way, 9.0, session, signs)
        assert len(said) <= 78
        assert said.split(signs.phrase)[0].strip() in state(whose, way, 9.0, session, signs, 138)
        assert state(whose, way, 9.0, session, signs, 138).endswith(
            "tempo 100 % " + f"{signs.phrase} drone: tonic and fifth"
        )
    assert "tempo 100 %" in state("yours", "own time", None, session, signs)


@pytest.mark.parametrize(("more", "words"), [(1, "1 more tone between"), (2, "2 more tones between")])
def test_tones_between_are_counted(more: int, words: str) -> None:
    session = Session(load_line(ROOKS), FakePlayer(), Choices(layer="skeleton"))
    meant = [tone.pitch.midi for tone in session.layer.tones]
    tones = tuple(SungTone(float(place), 0.9, float(midi)) for place, midi in enumerate(meant))
    asked = Asked(session.reading, session.layer, session.performance, 1.0, None)
    judged = judge(asked, Answer(1, 0.0, float(len(meant)), tones), Measure())
    assert "between" not in result(judged, 1, PLAIN)
    judged = replace(judged, heard=replace(judged.heard, extra=tones[:more]))
    assert result(judged, 1, PLAIN).endswith(words)
