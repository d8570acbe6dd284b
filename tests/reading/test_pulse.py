"""The beats under a line, given or inferred."""

from __future__ import annotations

import numpy as np
import pytest

from earloop.line import Line, Meter, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.reading.pulse import find_pulse
from earloop.reading.pulse_ladder import counted_beat, ladder

# Beat lengths of common meters in quarters, measure first (Lerdahl & Jackendoff 1983; any theory primer).
LADDERS = [
    (Meter(4, 4), 1.0, [4, 2, 1, 0.5]),
    (Meter(3, 4), 1.0, [3, 1, 0.5, 0.25]),
    (Meter(2, 4), 1.0, [2, 1, 0.5, 0.25]),
    (Meter(6, 8), 1.5, [3, 1.5, 0.5, 0.25]),
    (Meter(9, 8), 1.5, [4.5, 1.5, 0.5, 0.25]),
    (Meter(12, 8), 1.5, [6, 3, 1.5, 0.5]),
    (Meter(3, 8), 0.5, [1.5, 0.5, 0.25, 0.125]),
    (Meter(5, 4), 1.0, [5, 1, 0.5, 0.25]),
]


def line_of(lengths: list[float], steps: list[int], meter: Meter | None = None) -> Line:
    """A line of the given lengths; `steps` in semitones are taken in turn."""
    time, midi, tones = 0.0, 67, []
    for k, length in enumerate(lengths):
        tones.append(Tone(time, length, pitch_from_midi(midi)))
        time, midi = time + length, midi + steps[k % len(steps)]
    return Line(tuple(tones), meters=((0.0, meter),) if meter else ())


@pytest.mark.parametrize(("meter", "beat", "wanted"), LADDERS)
def test_a_measure_divides_as_the_meter_says(meter: Meter, beat: float, wanted: list[float]) -> None:
    """Measure, half, beat, division."""
    assert counted_beat(meter) == beat
    assert list(ladder(meter)[::-1][:4]) == wanted


def test_strength_counts_from_the_first_downbeat() -> None:
    """With an upbeat of one quarter in 3/4 the second tone is the downbeat."""
    pulse = find_pulse(line_of([1, 1, 1, 1, 1, 1, 1], [2, -2], Meter(3, 4, 1.0)))
    assert np.flatnonzero(pulse.strength > -0.1).tolist() == [1, 4]
    assert pulse.sure.min() == 1.0


@pytest.mark.parametrize(
    ("measure", "bar", "upbeat"),
    [([2, 1], 3.0, 0.0), ([2, 1], 3.0, 1.0), ([1.5, 0.5, 1, 1], 4.0, 0.0), ([1, 0.5, 1, 0.5], 3.0, 0.0)],
)
def test_a_steady_rhythm_shows_its_measure(measure: list[float], bar: float, upbeat: float) -> None:
    """Long tones of a repeated rhythm fall on the inferred downbeats; no meter is given."""
    lengths = ([upbeat] if upbeat else []) + measure * 7 + [bar]
    line = line_of(lengths, [2, 2, -1, 1, -4])
    pulse = find_pulse(line)
    place = (line.columns.onset - upbeat) % bar
    downbeats = place < 1e-6
    assert pulse.strength[downbeats].mean() > pulse.strength[~downbeats].mean() + 0.5
    nests = max(pulse.bar[0], bar) % min(pulse.bar[0], bar)
    assert nests == 0


def test_changes_of_meter_are_followed() -> None:
    """Each section counts from where its meter starts."""
    tones = tuple(Tone(float(i), 1.0, pitch_from_midi(60 + i % 5)) for i in range(14))
    line = Line(tones, meters=((0.0, Meter(4, 4)), (8.0, Meter(3, 4))))
    pulse = find_pulse(line)
    assert np.flatnonzero(pulse.strength > -0.1).tolist() == [0, 4, 8, 11]
    assert pulse.measure.tolist() == [0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 3, 3, 3]


@pytest.mark.parametrize("meter", [Meter(0, 4), Meter(4, 0), Meter(-3, 4), Meter(4, 4, float("nan"))])
def test_a_meter_that_cannot_be_counted_is_passed_over(meter: Meter) -> None:
    """A broken meter reads as none at all."""
    rhythm: list[float] = [2, 1, 2, 1, 2, 1, 3]
    broken, plain = find_pulse(line_of(rhythm, [2, -1], meter)), find_pulse(line_of(rhythm, [2, -1]))
    assert broken.strength.tolist() == plain.strength.tolist()
