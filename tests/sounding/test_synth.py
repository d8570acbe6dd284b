"""The built-in synth: exact to the sample, without clicks, within the limits, each strand its own."""

from __future__ import annotations

import numpy as np
import parselmouth
import pytest
from performances import over_a_drone, steps

from earloop.performing.events import STRANDS, Event, Performance, Strand
from earloop.sounding.files import Rendering, stream
from earloop.sounding.synth import Synth, limited
from earloop.sounding.timbres import PLACES
from earloop.transport.tuning import Tuning, frequency

RATE = 48000
MINUS_60_DB = 10 ** (-60 / 20)


def tone(strand: Strand, midi: int = 69, seconds: float = 1.0, loudness: float = 0.8) -> np.ndarray:
    """A single tone with its release, mixed to one channel, at full level."""
    synth = Synth(level=0.5)
    voice = synth.start(midi, 0.0, loudness, strand, 0.01)
    synth.stop(voice, 0.01 + seconds)
    return synth.render(round(2.5 * RATE)).mean(axis=1)


@pytest.mark.parametrize("block", [64, 480, 1201, 8192])
def test_blocks_make_no_difference(block: int) -> None:
    """The stream is the same however it is cut, so every onset is exact to the sample, seams included."""
    performance = over_a_drone()
    whole = np.concatenate(list(stream(performance, 2, block=RATE * 8)))
    parts = np.concatenate(list(stream(performance, 2, block=block)))
    size = min(len(whole), len(parts))
    assert size > 4 * RATE
    assert np.abs(whole[:size] - parts[:size]).max() < 1e-6


@pytest.mark.parametrize("strand", STRANDS)
def test_a_tone_starts_on_its_sample(strand: Strand) -> None:
    heard = np.flatnonzero(np.abs(tone(strand)) > 0)
    assert abs(int(heard[0]) - round(0.01 * RATE)) <= 2


@pytest.mark.parametrize("strand", STRANDS)
@pytest.mark.parametrize("midi", [36, 60, 84])
def test_ends_are_without_clicks(strand: Strand, midi: int) -> None:
    """At the end of a tone no sample jumps by more than -60 dBFS beyond what the tone itself does.

    The release is compared with the same tone held on: their difference must set in smoothly, and die away smoothly.
    """
    ended, held = tone(strand, midi, 0.5), tone(strand, midi, 1.2)
    at = round(0.51 * RATE)
    release = round(PLACES[strand].timbre.release * RATE)
    setting_in = (ended - held)[at - 5 : at + 5]
    assert np.abs(np.diff(setting_in)).max() < MINUS_60_DB
    dying = ended[at + release - 5 : at + release + 5]
    assert np.abs(np.diff(dying)).max() < MINUS_60_DB
    assert not ended[at + release + 5 :].any()


def test_silence_is_quick_and_without_a_click() -> None:
    synth = Synth(level=0.5)
    for strand in STRANDS:
        synth.start(60, 0.0, 0.9, strand, 0.0)
    synth.render(RATE // 2)
    synth.silence()
    rest = synth.render(RATE // 10)
    assert np.abs(rest[: round(0.01 * RATE)]).max() > MINUS_60_DB
    assert not rest[round(0.02 * RATE) :].any()
    assert synth.sounding == 0 or not synth.render(100).any()


@pytest.mark.parametrize("lowest", [36, 48, 60])
@pytest.mark.parametrize("apart", [3, 4, 7])
def test_eight_loud_voices_stay_under_a_tenth_of_a_decibel(lowest: int, apart: int) -> None:
    """Below -0.1 dBFS at full level and loudness, whatever the chord."""
    synth = Synth(level=1.0)
    for number in range(8):
        synth.start(lowest + apart * number, 0.0, 1.0, STRANDS[number % 7], 0.0)
    loud = synth.render(RATE)
    assert 0.3 < np.abs(loud).max() < 10 ** (-0.1 / 20)


def test_the_limiter_leaves_soft_sound_alone_and_bends_the_rest() -> None:
    block = np.linspace(-3, 3, 6001, dtype=np.float32).reshape(-1, 1).repeat(2, axis=1)
    out = limited(block.copy())
    soft = np.abs(block) <= 0.6
    assert (out[soft] == block[soft]).all()
    assert np.abs(out).max() < 10 ** (-0.1 / 20)
    assert (np.diff(out[:, 0]) >= 0).all()


@pytest.mark.parametrize("strand", STRANDS[:7])
@pytest.mark.parametrize("midi", [40, 57, 69, 81])
def test_pitch_by_an_independent_tracker(strand: Strand, midi: int) -> None:
    """Praat's autocorrelation pitch (Boersma 1993) agrees within 5 cents."""
    sound = parselmouth.Sound(tone(strand, midi, 1.5).astype(np.float64), RATE)
    pitch = sound.to_pitch_ac(pitch_floor=50, pitch_ceiling=1500)
    found = pitch.selected_array["frequency"]
    middle = np.median(found[(pitch.xs() > 0.2) & (pitch.xs() < 1.3) & (found > 0)])
    assert abs(1200 * np.log2(middle / frequency(midi))) < 5


def _brightness(sound: np.ndarray) -> float:
    """The spectrum's center of gravity in Hz."""
    spectrum = np.abs(np.fft.rfft(sound[: RATE // 2])) ** 2
    return float((spectrum * np.fft.rfftfreq(RATE // 2, 1 / RATE)).sum() / spectrum.sum())


def test_three_lines_have_three_timbres() -> None:
    """They differ in what the ear goes by (Grey 1977): spectrum, its even partials, and how the tone goes on."""
    upper, lower, middle = (tone(strand, 57, 1.5) for strand in ("upper", "lower", "middle"))

    def power(sound: np.ndarray, low: float, high: float) -> float:
        return float(np.sqrt((sound[round(low * RATE) : round(high * RATE)] ** 2).mean()))

    assert power(middle, 1.2, 1.4) < 0.6 * power(middle, 0.05, 0.25), "a plucked string dies away"
    assert power(upper, 1.2, 1.4) > 0.7 * power(upper, 0.2, 0.4), "a voice goes on"
    assert power(lower, 1.2, 1.4) > 0.7 * power(lower, 0.2, 0.4), "so does a reed"

    def second_partial(sound: np.ndarray) -> float:
        spectrum = np.abs(np.fft.rfft(sound[round(0.2 * RATE) : round(1.2 * RATE)]))
        return float(spectrum[430:450].max() / spectrum[210:230].max())

    assert second_partial(lower) < 0.25 < second_partial(upper), "a reed has weak even partials"
    assert _brightness(upper) > 1.3 * _brightness(lower)


def test_lines_stand_apart() -> None:
    """Upper to the left, lower to the right, a single line in the middle."""
    for strand, side in (("upper", -1), ("lower", 1), ("single", 0)):
        synth = Synth()
        synth.start(60, 0.0, 0.8, strand, 0.0)
        left, right = np.abs(synth.render(RATE)).mean(axis=0)
        assert np.sign(round(float(right / left - 1), 3)) == side


def test_legato_has_no_gap_and_no_bump() -> None:
    """Between two bound tones of one pitch the loudness stays within 1.5 dB; unbound ones let it fall."""

    def dip(legato: bool) -> float:
        events = (Event(0.0, 1.0, 60, 0.7, "lower", legato=legato), Event(1.0, 1.0, 60, 0.7, "lower"))
        sound = np.concatenate(list(stream(Performance(events, 2.0, 60.0)))).mean(axis=1)
        frames = sound[round(0.8 * RATE) : round(1.2 * RATE)].reshape(-1, 960)
        loudness = np.sqrt((frames**2).mean(axis=1))
        return float(20 * np.log10(loudness.min() / loudness.max()))

    assert dip(True) > -1.5
    assert dip(False) < -2.0


def test_level_glides() -> None:
    """A change of level makes no jump, and takes effect within a block."""
    synth = Synth(level=0.5)
    synth.start(69, 0.0, 0.8, "drone", 0.0)
    before = synth.render(RATE)
    synth.level(0.1)
    gliding, after = synth.render(1200), synth.render(RATE // 2)
    assert abs(float(gliding[0, 0] - before[-1, 0])) < 0.02
    assert np.abs(after).max() == pytest.approx(np.abs(before[RATE // 2 :]).max() / 5, rel=0.02)


def test_transposition_and_tuning_reach_the_sound() -> None:
    """E4 a fourth up at A4 = 415 Hz is 415 Hz: the strongest line of a two-second spectrum lies there."""
    events = (Event(0.0, 2.0, 64, 0.7, "drone"),)
    how = Rendering(tuning=Tuning(415.0), transpose=5)
    sound = np.concatenate(list(stream(Performance(events, 2.0, 60.0), how=how))).mean(axis=1)[: 2 * RATE]
    assert float(np.abs(np.fft.rfft(sound)).argmax()) / 2 == pytest.approx(415.0, abs=0.5)


def test_every_onset_lies_on_its_sample_through_the_seams() -> None:
    """A loop is the sum of its tones, each made alone and laid at the frame its schedule gives."""
    performance = steps(5, 1 / 3, 97.0)
    looped = np.concatenate(list(stream(performance, 4, block=1200)))
    laid = np.zeros_like(looped)
    for number in range(20):
        event = performance.events[number % 5]
        at = (number // 5 * performance.length + event.onset) * 60 / 97.0
        synth = Synth()
        synth.stop(synth.start(event.midi, 0.0, event.loudness, event.strand, 0.0), event.length * 60 / 97.0)
        alone = synth.render(RATE)
        frame = round(at * RATE)
        size = min(len(alone), len(laid) - frame)
        laid[frame : frame + size] += alone[:size]
    # The end of a tone may be rounded to a neighbouring frame; its start may not.
    assert np.abs(laid - looped).max() < 0.002
    assert np.abs(np.roll(laid, 1, axis=0) - looped).max() > 0.005
