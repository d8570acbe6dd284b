"""Pitches of a key: the tone a degree names, and the neighbor in the scale."""

from __future__ import annotations

from earloop.coaching.difficulty import local_key
from earloop.line import Pitch
from earloop.reading.degrees import degree_of
from earloop.reading.record import Degree, Key, Reading

SIZES = ("the same", "a step", "a third", "a fourth", "a fifth", "a sixth", "a seventh", "an octave")
DIATONIC: tuple[Degree, ...] = tuple(Degree(number) for number in range(1, 8))
_SEMITONES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}


def pitch_of(degree: Degree, key: Key, near: Pitch) -> Pitch:
    """The tone of that degree in the key, in the octave nearest to `near`."""
    semitones = _SEMITONES[key.mode][degree.number - 1] + degree.alter
    tonic = Pitch(key.fifths * 4 % 7, (key.fifths + 1) // 7, 4)
    found = tonic.moved(degree.number - 1, semitones)
    # The lower one of two octaves that are equally near, in every key alike.
    octaves = -((found.midi - near.midi + 6) // 12)
    return found.moved(7 * octaves, 12 * octaves)


def neighbor(pitch: Pitch, steps: int, key: Key) -> Pitch:
    """The tone of the key's own scale so many letters above (negative: below) the pitch."""
    goal = Pitch((pitch.height + steps) % 7, 0, (pitch.height + steps) // 7)
    plain = degree_of(goal.fifths, key)
    return Pitch(goal.step, -plain.alter, goal.octave)


def moved_in_key(reading: Reading, index: int, steps: int) -> Pitch:
    """A tone of the line so many letters up or down in the scale of its own key.

    It starts from the tone as that key spells it: the letters of a MIDI file's tones are guesses.
    """
    key = local_key(reading, index).key
    return neighbor(pitch_of(reading.local_degrees[index], key, reading.line[index].pitch), steps, key)


def apart(said: Pitch, meant: Pitch) -> str:
    """How far the tone that was meant lies from the one that was said, octaves aside: `a third higher`."""
    steps = (meant.height - said.height + 3) % 7 - 3
    if steps == 0:
        semitones = (meant.midi - said.midi + 6) % 12 - 6
        return f"a semitone {'higher' if semitones > 0 else 'lower'}" if semitones else "the same tone"
    return f"{SIZES[abs(steps)]} {'higher' if steps > 0 else 'lower'}"
