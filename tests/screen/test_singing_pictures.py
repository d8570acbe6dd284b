"""The parts of the singing screen alone: where tones stand, what the trace draws, what the rows say."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.screen.signs import DRAWN, PLAIN
from earloop.screen.singing.places import NARROWEST, places_of
from earloop.screen.singing.trace_drawn import GUTTER, Shown, draw_trace
from earloop.screen.singing.words import needle

KEYS = (62.0, 66.0, 69.0)
PLACES = places_of((1.0, 1.0, 2.0), 72)
SHOWN = Shown(PLACES, KEYS, ("1", "3", "5"), (1, 2, 3), (), (0.0, 1.0, 2.0, 4.0), 50.0)


def rows(shown: Shown, signs=PLAIN, band: int = 0, height: int = 9) -> list[str]:
    canvas = draw_trace(shown, band, height, 80, signs)
    return ["".join(text for text, _ in canvas.runs(row)) for row in range(len(canvas))]


@given(st.lists(st.floats(0, 20), min_size=1, max_size=70), st.integers(20, 200))
def test_every_tone_stands_in_one_band_with_room_for_its_figures(lengths: list[float], room: int) -> None:
    places = places_of(lengths, room)
    seen = [tone for first, last in places.bands for tone in range(first, last + 1)]
    assert seen == list(range(len(lengths)))
    for first, last in places.bands:
        assert places.columns[first] == 0
        assert places.columns[last] + places.widths[last] <= room
        for tone in range(first, last + 1):
            assert places.widths[tone] >= NARROWEST


@given(st.floats(-5, 20), st.lists(st.floats(0, 3), min_size=4, max_size=4))
def test_every_moment_falls_on_a_column_of_its_tone(seconds: float, steps: list[float]) -> None:
    anchors = [0.0]
    for step in steps:
        anchors.append(anchors[-1] + step)
    places = places_of((1.0, 1.0, 1.0, 1.0), 60)
    tone, column = places.column_at(anchors, seconds)
    assert places.columns[tone] <= column < places.columns[tone] + places.widths[tone]
    if anchors[0] <= seconds < anchors[-1]:
        assert anchors[tone] <= seconds < anchors[tone + 1]


def test_a_pitch_within_the_tolerance_lies_on_its_tone() -> None:
    """20 cents off is drawn thick on the tone's row, two octaves below too; 80 cents off is a dot."""
    row = next(k for k, text in enumerate(rows(SHOWN)) if k and "3-" in text)
    at = GUTTER + PLACES.columns[1] + 3
    frames = [(1.0 + k / 50, 66.2 - 24) for k in range(40)]
    assert rows(replace(SHOWN, frames=frames))[row][at] == "="
    off = [(1.0 + k / 50, 66.8) for k in range(40)]
    drawn = rows(replace(SHOWN, frames=off))
    assert "=" not in drawn[row][GUTTER:]
    assert any(sign in text[at] for text in drawn[1:] for sign in (PLAIN.off_high, PLAIN.off_middle, PLAIN.off_low))


@pytest.mark.parametrize("names", [("1", "3", "5"), ("do", "mi", "sol")])
@pytest.mark.parametrize("cents", [-80, 0, 80])
def test_a_tone_is_seen_from_its_first_frame_on(names: tuple[str, str, str], cents: int) -> None:
    """In tune or not, also where the degree stands; which degree it is stands below the trace."""
    waiting = replace(SHOWN, labels=names)
    for tone, key in enumerate(KEYS):
        first = replace(waiting, frames=[(waiting.anchors[tone] + 0.01, key + cents / 100)])
        assert rows(first) != rows(waiting)


def test_higher_is_higher() -> None:
    """Dots a semitone apart never stand the wrong way round."""
    heights = []
    for cents in (-150, -100, 100, 150):
        drawn = rows(replace(SHOWN, frames=[(1.5, 66 + cents / 100)]), height=20)
        row = next(k for k, text in enumerate(drawn) if k and any(s in text for s in "'+."))
        heights.append(row)
    assert heights == sorted(heights, reverse=True)
    assert heights[0] > heights[-1]


def test_a_reference_of_ones_own_is_taken_off() -> None:
    frames = [(1.0 + k / 50, 67.3) for k in range(40)]
    assert any("=" in text[GUTTER:] for text in rows(replace(SHOWN, frames=frames, reference=1.3)))


def test_the_needle_says_hertz_and_cents() -> None:
    """A4 = 440 Hz is key 69 (ISO 16, MIDI 1.0)."""
    text = needle(69.0, 0.0, "5", 50.0, -20.0, DRAWN)
    assert "A4 440 Hz, +0 on 5" in text
    assert text.index(DRAWN.carries) == text.index("[") + 4
    sharp = needle(69.4, 40.0, "5", 50.0, -20.0, PLAIN)
    assert "450 Hz, +40 on 5" in sharp
    assert sharp.isascii()
    assert len(sharp) <= 78
    assert "no pitch" in needle(None, None, "", 50.0, -120.0, DRAWN)
