"""Letters for tones that have only MIDI keys.

Without a key: the first stage of ps13 (Meredith, `The ps13 pitch spelling algorithm`, Journal of New Music Research
35/2, 2006): each tone's letter is voted for by the tones around it, each taken as a tonic in turn with the chromatic
scale ♭2 2 ♭3 3 4 ♯4 5 ♭6 6 ♭7 7 above it. With a key: the place nearest the key on the line of fifths (Temperley,
The Cognition of Basic Musical Structures, 2001, chapter 5), and a chromatic tone that goes on by semitone takes the
letter that makes it a step: raised when it rises, lowered when it falls (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from earloop.line.line import Line
from earloop.line.pitch import SEMITONES, Pitch, pitch_from_midi
from earloop.line.tone import Tone

_STEPS_ABOVE = np.array((0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6))
"""Letters above a tonic for 0 to 11 semitones (ps13's table)."""
_BEFORE, _AFTER = 10, 42
"""Tones of context before (the tone excluded) and after (included): the best values of Meredith 2006, table 3."""


def spelled(line: Line, fifths: int | None = None, mode: str = "") -> Line:
    """The line with letters chosen for its keys; `fifths` is a key signature, None to go by the tones alone.

    `mode` is `minor` where the raised sixth and seventh are to be kept on their way down. Its chord's lower
    tones move to the nearest spelling too. The result says `spelled=False`: it stays a guess.
    """
    midi = [tone.pitch.midi for tone in line.tones]
    pitches = spell_by_context(midi) if fifths is None else spell_in_key(midi, fifths, mode)
    centre = _signature_near(pitches) if fifths is None else fifths
    tones = []
    for tone, pitch in zip(line.tones, pitches, strict=True):
        marks = tone.marks
        if marks.chord_below:
            below = tuple(pitch_from_midi(lower.midi, centre) for lower in marks.chord_below)
            marks = replace(marks, chord_below=below)
        if marks is not tone.marks or pitch != tone.pitch:
            # The constructor is several times faster than dataclasses.replace, and lines can be long.
            tone = Tone(tone.onset, tone.length, pitch, tone.grace, tone.measure, tone.written, marks)
        tones.append(tone)
    return replace(line, tones=tuple(tones), spelled=False)


def spell_in_key(midi: Sequence[int], fifths: int, mode: str = "") -> list[Pitch]:
    """Spell MIDI keys in the key of signature `fifths`; see the module. Time is linear in the tones."""
    keys = np.asarray(midi, dtype=np.int64)
    ahead, size = _next_other(keys), len(keys)
    going = np.where(ahead < size, keys[np.minimum(ahead, size - 1)] - keys, 0)
    return _pitches(keys, places_in_key(keys, going, fifths, mode == "minor"))


def places_in_key(
    keys: NDArray[np.int64],
    going: NDArray[np.int64],
    fifths: int | NDArray[np.int64],
    minor: bool | NDArray[np.bool_],
) -> NDArray[np.int64]:
    """Places on the line of fifths for MIDI keys; `going` is the semitones to the next other tone (0 if none).

    The signature `fifths` and `minor` may change from tone to tone.
    """
    lowest = np.asarray(fifths) - 3
    places = lowest + (keys * 7 - lowest) % 12
    above = places - fifths
    kept = (above == 6) | (np.asarray(minor) & (above == 8))
    falls = (going == -1) & (above >= 7) & ~kept
    rises = (going == 1) & (above <= -2) & ~(np.asarray(minor) & (above == -2))
    result: NDArray[np.int64] = places + np.where(falls, -12, 0) + np.where(rises, 12, 0)
    return result


def spell_by_context(midi: Sequence[int]) -> list[Pitch]:
    """Spell MIDI keys by the tones around each; see the module. Time is linear in the tones."""
    keys = np.asarray(midi, dtype=np.int64)
    size = len(keys)
    classes = keys % 12
    totals = np.zeros((size + 1, 12), dtype=np.int64)
    np.cumsum(np.eye(12, dtype=np.int64)[classes], axis=0, out=totals[1:])
    index = np.arange(size)
    context = totals[np.minimum(index + _AFTER, size)] - totals[np.maximum(index - _BEFORE, 0)]
    votes = np.zeros((size, 7), dtype=np.int64)
    for own in range(12):
        rows = np.flatnonzero(classes == own)
        if rows.size:
            votes[rows] = context[rows] @ np.eye(7, dtype=np.int64)[_letters_above(int(classes[0]), own)]
    letters = votes.argmax(axis=1)
    places = _places_of(classes, letters)
    shift = 12 * round((2 - float(np.median(places))) / 12)
    return _pitches(keys, places + shift)


def _letters_above(first: int, own: int) -> NDArray[np.int64]:
    """The letter (first tone's letter is 0) of pitch class `own` under each of twelve tonics."""
    tonics = np.arange(12)
    letter: NDArray[np.int64] = (_STEPS_ABOVE[(own - tonics) % 12] - _STEPS_ABOVE[(first - tonics) % 12]) % 7
    return letter


def _places_of(classes: NDArray[np.int64], letters: NDArray[np.int64]) -> NDArray[np.int64]:
    """Places on the line of fifths, the first tone at its own nearest place to D, the others by interval from it."""
    start = 7 * int(classes[0]) % 12
    start = start - 12 if start > 8 else start
    semitones = (classes - classes[0]) % 12
    plain = np.array((0, 2, 4, -1, 1, 3, 5))[letters]
    natural = np.array((0, 2, 4, 5, 7, 9, 11))[letters]
    off = (semitones - natural + 6) % 12 - 6
    places: NDArray[np.int64] = start + plain + 7 * off
    return places


def _next_other(keys: NDArray[np.int64]) -> NDArray[np.int64]:
    """For each tone the index of the next one on another key; the size where there is none."""
    size = len(keys)
    changes = np.flatnonzero(np.diff(keys)) + 1
    ahead: NDArray[np.int64] = np.append(changes, size)[np.searchsorted(changes, np.arange(size), side="right")]
    return ahead


def _pitches(keys: NDArray[np.int64], places: NDArray[np.int64]) -> list[Pitch]:
    known: dict[tuple[int, int], Pitch] = {}
    result = []
    for pair in zip(keys.tolist(), places.tolist(), strict=True):
        pitch = known.get(pair)
        if pitch is None:
            key, place = pair
            step, alter = place * 4 % 7, (place + 1) // 7
            pitch = known[pair] = Pitch(step, alter, (key - SEMITONES[step] - alter) // 12 - 1)
        result.append(pitch)
    return result


def _signature_near(pitches: Sequence[Pitch]) -> int:
    """A signature whose middle (its second degree) is the tones' middle on the line of fifths."""
    return round(float(np.median([pitch.fifths for pitch in pitches]))) - 2
