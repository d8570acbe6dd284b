"""YIN against its own definition and against Praat."""

from __future__ import annotations

import numpy as np
import parselmouth
import pytest

from earloop.hearing.alignment import folded
from earloop.hearing.pitch_track import RATE, difference, pitch_track, yin
from tests.hearing import takes

TIME = np.arange(RATE) / RATE


def hertz_of(midi):
    return 440 * 2 ** ((midi - 69) / 12)


def test_the_difference_function_is_equation_6_of_the_paper() -> None:
    """de Cheveigné & Kawahara 2002, equation 6, by the plain double sum."""
    frames = np.random.default_rng(1).normal(size=(3, 300))
    inside = 300 - 100
    plain = [[np.sum((f[:inside] - f[lag : lag + inside]) ** 2) for lag in range(101)] for f in frames]
    np.testing.assert_allclose(difference(frames, 100), plain, atol=1e-9)


def test_a_period_of_whole_samples_is_found_with_no_aperiodicity() -> None:
    """By equation 6 the difference at the period of a periodic signal is 0."""
    cycle = np.random.default_rng(2).normal(size=83)
    period, aperiodicity = yin(np.tile(cycle, 14)[None, :1120], 266)
    assert aperiodicity[0] < 1e-9
    assert period[0] == pytest.approx(83, abs=0.5)


@pytest.mark.parametrize("hertz", [70.0, 110.0, 261.626, 440.0, 880.0, 1396.9])
@pytest.mark.parametrize("shape", ["sine", "sawtooth"])
def test_known_tones_are_within_four_cents(hertz: float, shape: str) -> None:
    """f = 440·2^((n−69)/12) with MIDI key n (MIDI 1.0, ISO 16)."""
    partials = range(1, int(7000 / hertz) + 1) if shape == "sawtooth" else (1,)
    track = pitch_track(0.2 * sum(np.sin(2 * np.pi * n * hertz * TIME) / n for n in partials))
    assert track.pitched.mean() > 0.95
    cents = 1200 * np.log2(hertz_of(track.midi) / hertz)
    # A period of a few samples that is no whole number of them may be taken twice: octaves fold in comparing.
    assert np.nanmax(np.abs(cents if hertz < 1000 else folded(cents))) < 4


def test_noise_and_silence_have_no_pitch() -> None:
    assert not pitch_track(np.zeros(RATE)).pitched.any()
    assert pitch_track(np.random.default_rng(3).normal(0, 0.1, RATE)).pitched.mean() < 0.05
    assert not len(pitch_track(np.zeros(10)).time)
    assert not pitch_track(np.full(RATE, 0.02)).pitched.any(), "a device's constant offset"


def test_praat_hears_the_same_vowel() -> None:
    """Praat's autocorrelation tracker (praat-parselmouth) on a vowel-like voice with vibrato and 20 dB noise."""
    from earloop.performing import Event

    events = [Event(k, 1.0, key, 0.7, "single") for k, key in enumerate((57, 60, 64, 62))]
    sound = takes.noisy(takes.sung(events), 20)
    track = pitch_track(sound)
    praat = parselmouth.Sound(sound, RATE).to_pitch_ac(time_step=0.01, pitch_floor=75, pitch_ceiling=800)
    theirs = np.array([praat.get_value_at_time(t) for t in track.time])
    both = track.pitched & ~np.isnan(theirs)
    cents = 1200 * np.log2(hertz_of(track.midi[both]) / theirs[both])
    assert both.mean() > 0.85
    assert abs(np.median(cents)) < 2
    assert np.mean(np.abs(cents) < 50) > 0.97
