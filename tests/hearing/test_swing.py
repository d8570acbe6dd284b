"""The level under a vibrato, from contours whose level is known."""

from __future__ import annotations

import numpy as np
import pytest

from earloop.hearing.pitch_track import HOP, Floats
from earloop.hearing.swing import Swing, centre, take_swing


def swinging(seconds: float, hertz: float, width: float, phase: float, slide: float = 0.0) -> Floats:
    """A contour about key 60: a vibrato, and for the first 60 ms what is left of a slide from `slide` semitones off."""
    time = np.arange(round(seconds / HOP)) * HOP
    return 60 + width * np.sin(2 * np.pi * hertz * time + phase) + slide * np.clip(1 - time / 0.06, 0, 1)


@pytest.mark.parametrize("hertz", [4.0, 5.5, 7.0])
@pytest.mark.parametrize("phase", [0.0, 1.0, 2.5, 4.0])
def test_a_vibrato_of_eighty_cents_leaves_the_level_within_five(hertz: float, phase: float) -> None:
    assert 100 * centre(swinging(0.43, hertz, 0.8, phase)) == pytest.approx(6000, abs=5)


@pytest.mark.parametrize("slide", [-2.0, 2.0])
def test_a_slide_into_the_tone_moves_the_level_little(slide: float) -> None:
    assert 100 * centre(swinging(0.5, 5.5, 0.6, 1.0, slide)) == pytest.approx(6000, abs=5)


def test_a_short_tone_borrows_the_takes_vibrato() -> None:
    """Half a turn tells no level by itself: its median is far off, the borrowed swing's is near."""
    long = [swinging(1.0, 5.0, 0.8, phase) for phase in (0.0, 1.0, 2.0)]
    swing = take_swing(long)
    assert swing is not None
    assert (swing.hertz, swing.width) == pytest.approx((5.0, 0.8), abs=0.1)
    off = [abs(100 * (centre(swinging(0.12, 5.0, 0.8, phase), swing) - 60)) for phase in np.arange(0, 6.28, 0.4)]
    plain = [abs(100 * (np.median(swinging(0.12, 5.0, 0.8, phase)) - 60)) for phase in np.arange(0, 6.28, 0.4)]
    assert np.mean(off) < 0.5 * np.mean(plain)


def test_short_tones_alone_tell_their_vibrato_together() -> None:
    swing = take_swing([swinging(0.22, 6.0, 0.75, phase) for phase in np.arange(0, 6.28, 0.5)])
    assert swing is not None
    assert swing.hertz == pytest.approx(6.0, abs=0.51)
    assert swing.width == pytest.approx(0.75, abs=0.16)


def test_a_still_tone_has_no_vibrato() -> None:
    swing = take_swing([np.full(100, 60.0)] * 3)
    assert swing == Swing(5.5, 0.0)
    assert centre(np.full(20, 60.2), swing) == pytest.approx(60.2)
