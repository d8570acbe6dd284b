"""Tuning against published numbers."""

from __future__ import annotations

from math import log2

import pytest

from earloop.transport.tuning import JUST_CENTS, Tuning, frequency


@pytest.mark.parametrize(("midi", "hertz"), [(69, 440.0), (60, 261.63), (57, 220.0), (81, 880.0), (21, 27.50)])
def test_equal_temperament(midi: int, hertz: float) -> None:
    """ISO 16 (A4 = 440 Hz) with MIDI 1.0's key 69 for A4; C4 = 261.63 Hz is the usual table's value."""
    assert frequency(midi) == pytest.approx(hertz, abs=0.005)


@pytest.mark.parametrize("a4", [415.0, 430.0, 442.0, 466.0])
def test_another_pitch_for_a(a4: float) -> None:
    assert frequency(69, Tuning(a4).cents(69)) == pytest.approx(a4)
    assert frequency(57, Tuning(a4).cents(57)) == pytest.approx(a4 / 2)


def test_a_beyond_the_range_is_held_within() -> None:
    assert Tuning(300.0).cents(69) == Tuning(415.0).cents(69)
    assert Tuning(900.0).cents(69) == Tuning(466.0).cents(69)


@pytest.mark.parametrize(
    ("semitones", "cents"), [(2, 203.910), (3, 315.641), (4, 386.314), (5, 498.045), (7, 701.955), (9, 884.359)]
)
def test_just_intervals(semitones: int, cents: float) -> None:
    """Ellis's values for 9/8, 6/5, 5/4, 4/3, 3/2 and 5/3 (in Helmholtz, On the Sensations of Tone, 1885, appendix)."""
    assert 100 * semitones + JUST_CENTS[semitones] == pytest.approx(cents, abs=0.001)


def test_just_over_any_tonic() -> None:
    """Over D the fifth A is pure and D itself stays where equal temperament has it."""
    tuning = Tuning(just_on=2)
    ratio = frequency(69, tuning.cents(69)) / frequency(62, tuning.cents(62))
    assert 1200 * log2(ratio) == pytest.approx(701.955, abs=0.001)
    assert tuning.cents(62) == pytest.approx(0.0)
