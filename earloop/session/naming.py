"""What a degree is called: a number, a movable-do syllable, or the note's own name.

Syllables: movable do with the usual chromatic vowels, raised -i, lowered -e (ra for 2), and either do- or
la-based minor (common practice; both schools teach it so).
"""

from __future__ import annotations

from itertools import repeat

from earloop.line import Pitch
from earloop.reading import Reading
from earloop.reading.record import Degree, Mode
from earloop.session.choices import Choices, DegreeNames

PLAIN = ("do", "re", "mi", "fa", "sol", "la", "ti")
RAISED = ("di", "ri", "mis", "fi", "si", "li", "tis")
LOWERED = ("de", "ra", "me", "fe", "se", "le", "te")
_MINOR_ALTER = (0, 0, -1, 0, 0, -1, -1)


def degree_name(degree: Degree, pitch: Pitch, mode: Mode, names: DegreeNames) -> str:
    """The degree as the performer wants to sing it, in plain ASCII (`#4`, `fi`, `F#`)."""
    if names == "numbers":
        return str(degree)
    if names == "notes":
        return f"{pitch.letter}{pitch.accidental}"
    if names == "la" and mode == "minor":
        # The tonic is la; natural minor is the relative major's own scale, so nothing is altered in it.
        return syllable((degree.number + 4) % 7, degree.alter)
    minor = _MINOR_ALTER[degree.number - 1] if mode == "minor" else 0
    return syllable(degree.number - 1, degree.alter + minor)


def degree_text(reading: Reading, index: int, choices: Choices) -> str:
    """The tone's degree as the performer wants it named, in the key the performer looks at: home or local."""
    key, degrees = reading.home.key, reading.degrees
    if choices.home_or_local == "local":
        key, degrees = reading.local[reading.gesture_of(index)].key, reading.local_degrees
    return degree_name(degrees[index], reading.line[index].pitch, key.mode, choices.degree_names)


def degree_texts(reading: Reading, choices: Choices) -> list[str]:
    """`degree_text` of every tone."""
    names, tones = choices.degree_names, reading.line.tones
    if choices.home_or_local == "local":
        modes = [local.key.mode for local in reading.local for _ in local.span.indexes]
        rows = zip(reading.local_degrees, tones, modes, strict=True)
    else:
        rows = zip(reading.degrees, tones, repeat(reading.home.key.mode, len(tones)), strict=True)
    return [degree_name(degree, tone.pitch, mode, names) for degree, tone, mode in rows]


def named_alike(before: Reading, now: Reading) -> bool:
    """Whether no tone can be named otherwise than it was; readers that found the same give the same object back."""
    return (
        before.degrees is now.degrees
        and before.local_degrees is now.local_degrees
        and before.local is now.local
        and before.home is now.home
    )


def syllable(step: int, alter: int) -> str:
    """The syllable of major-scale step 0..6, altered by so many semitones; double ones carry their sign."""
    if alter == 0:
        return PLAIN[step]
    if alter == 1:
        return RAISED[step]
    if alter == -1:
        return LOWERED[step]
    return f"{'#' * alter if alter > 0 else 'b' * -alter}{PLAIN[step]}"
