"""When tones are heard to begin, against the moment at which they were made to sound."""

from __future__ import annotations

import numpy as np
import pytest

from earloop.hearing.pitch_track import pitch_track
from earloop.hearing.tones_sung import SungTone, tones_sung
from earloop.performing import Event
from tests.hearing import takes

SECOND = 60 / 72
APART = [Event(k + 0.5, 0.6, 0, 0.7, "single") for k in range(6)]
STEPS = (0, 4, 2, 5, 7, 0)
HALF_UP = 0.02
"""Seconds after its start at which a tone of `takes.sung` has half its strength, 6 decibels below: within the 6 to 15
where Vos & Rasch (1981, from memory) found tones to begin for the ear."""


def heard(lowest: int, noise: float | None) -> tuple[list[float], tuple[SungTone, ...]]:
    """The moments at which the tones were made to begin, and the tones heard."""
    events = [
        Event(e.onset, e.length, lowest + step, e.loudness, e.strand) for e, step in zip(APART, STEPS, strict=True)
    ]
    sound = takes.sung(events, vibrato=20.0, glide=0.001)
    track = pitch_track(sound if noise is None else takes.noisy(sound, noise))
    return [e.onset * SECOND + HALF_UP for e in events], tones_sung(track)


@pytest.mark.parametrize("lowest", [36, 48, 60, 72])
@pytest.mark.parametrize("noise", [None, 20.0, 10.0])
def test_low_and_high_tones_are_heard_when_they_begin(lowest: int, noise: float | None) -> None:
    """A trained ensemble's onsets lie 30 to 50 ms apart (Rasch 1979, from memory): a listener's error stays below."""
    made, tones = heard(lowest, noise)
    late = [1000 * (min((tone.onset for tone in tones), key=lambda o: abs(o - moment)) - moment) for moment in made]
    assert abs(np.mean(late)) < 20
    assert max(map(abs, late)) < 40


def test_a_tone_lasts_from_its_onset_to_its_end() -> None:
    """The contour begins with the tone, so that its frames lie where they were sung."""
    _, tones = heard(40, None)
    for tone in tones:
        assert tone.length == pytest.approx(0.6 * SECOND, abs=0.08)
        assert len(tone.contour) * 0.01 == pytest.approx(tone.length, abs=0.011)


def test_the_pitch_of_a_tone_is_not_told_by_what_dies_away() -> None:
    """A steady tone falls by a semitone while it fades: at half its power, .7 of its strength, by .3 of one."""
    rate = 16000
    time = np.arange(round(0.75 * rate)) / rate
    faded = np.clip((time - 0.6) / 0.06, 0, 1)
    key = 57.0 - faded
    loud = np.where(time < 0.1, 0.0, 1 - faded)
    phase = 2 * np.pi * np.cumsum(440 * 2 ** ((key - 69) / 12)) / rate
    (tone,) = tones_sung(pitch_track(loud * sum(np.sin(n * phase) / n for n in range(1, 8)) * 0.3))
    known = np.array([pitch for pitch in tone.contour if not np.isnan(pitch)])
    assert np.max(np.abs(known - 57.0)) < 0.3
