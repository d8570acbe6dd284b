"""Degrees: the trade's numbers for spelled tones, and sensible letters where only MIDI keys are known."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.line import Line, Span, Tone
from earloop.line.pitch import pitch_from_midi, pitch_from_name
from earloop.reading.degrees import degree_of, degrees_in, heights_of, local_degrees, places_for
from earloop.reading.record import Key, LocalKey

C, A_MINOR = Key(0), Key(3, "minor")


def of_keys(*keys: int) -> Line:
    tones = [Tone(float(i), 1.0, pitch_from_midi(key)) for i, key in enumerate(keys)]
    return Line(tuple(tones), spelled=False)


def told(line: Line, key: Key) -> str:
    return " ".join(str(degree) for degree in degrees_in(line.columns, key, line.spelled))


@pytest.mark.parametrize(
    ("name", "key", "degree"),
    [
        ("C4", C, "1"),
        ("F#4", C, "#4"),
        ("Gb4", C, "b5"),
        ("Bb3", C, "b7"),
        ("G#4", A_MINOR, "#7"),
        ("F#4", A_MINOR, "#6"),
        ("G4", A_MINOR, "7"),
        ("C#5", A_MINOR, "#3"),
        ("Bb4", A_MINOR, "b2"),
        ("Fx4", Key(8), "7"),
        ("Cb4", Key(-7), "1"),
    ],
)
def test_spelled_tones_count_letters(name, key, degree):
    """Degrees against major or natural minor (any handbook: Aldwell & Schachter; Kostka & Payne)."""
    assert str(degree_of(pitch_from_name(name).fifths, key)) == degree


@pytest.mark.parametrize(
    ("keys", "key", "degrees"),
    [
        ((67, 66, 67, 65, 64), C, "5 #4 5 4 3"),
        ((65, 66, 67), C, "4 #4 5"),
        ((72, 70, 69, 67), C, "1 b7 6 5"),
        ((67, 68, 67), C, "5 b6 5"),
        ((69, 68, 69), C, "6 #5 6"),
        ((60, 61, 62), C, "1 #1 2"),
        ((62, 61, 60), C, "2 b2 1"),
        ((64, 63, 64), C, "3 #2 3"),
        ((62, 63, 60), C, "2 b3 1"),
        ((76, 78, 80, 81, 79, 77, 76), A_MINOR, "5 #6 #7 1 7 6 5"),
        ((69, 68, 68, 69), A_MINOR, "1 #7 #7 1"),
        ((81, 80, 79, 78, 77, 76), A_MINOR, "1 #7 7 #6 6 5"),
        ((76, 75, 76), A_MINOR, "5 #4 5"),
        ((70, 69), A_MINOR, "b2 1"),
    ],
)
def test_letters_for_midi_keys_follow_the_key_and_the_direction(keys, key, degrees):
    """Raised tones rise, lowered ones fall, minor keeps its raised 6 and 7 (common practice, any handbook)."""
    assert told(of_keys(*keys), key) == degrees


@given(st.lists(st.integers(36, 90), min_size=1, max_size=40), st.integers(-6, 6), st.booleans(), st.integers(1, 11))
def test_guessed_letters_are_the_same_at_every_pitch(keys, fifths, minor, up):
    """Law 1 for MIDI keys: the key moved as far as the tones gives the same degrees, however it is spelled."""
    key = Key(fifths, "minor" if minor else "major")
    higher = Key(fifths + 7 * up - 12 * ((fifths + 7 * up) // 12), key.mode)
    assert told(of_keys(*keys), key) == told(of_keys(*(k + up for k in keys)), higher)


@given(st.lists(st.integers(36, 90), min_size=1, max_size=40), st.integers(-6, 6))
def test_every_guessed_letter_sounds_as_given(keys, fifths):
    line = of_keys(*keys)
    places = places_for(line.columns, Key(fifths))
    assert [place * 7 % 12 for place in places.tolist()] == [key % 12 for key in keys]
    for height, place, key in zip(heights_of(line.columns.midi, places).tolist(), places.tolist(), keys, strict=True):
        natural = 12 * (height // 7 + 1) + (0, 2, 4, 5, 7, 9, 11)[height % 7]
        assert natural + (place + 1) // 7 == key


def test_a_gesture_is_spelled_in_its_own_key_without_its_neighbours():
    """G sharp at a gesture's end is the raised 7 of A minor, whatever follows: here the next gesture's A flat."""
    line = of_keys(69, 71, 68, 68, 67, 65)
    local = (LocalKey(Span(0, 2), A_MINOR, 1.0), LocalKey(Span(3, 5), Key(-1, "minor"), 1.0))
    found = [str(degree) for degree in local_degrees(line.columns, local, spelled=False)]
    assert found == ["1", "2", "#7", "3", "2", "1"]
