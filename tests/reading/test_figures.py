"""Every figure in the shape a harmony handbook prints it.

Source: Aldwell & Schachter, *Harmony and Voice Leading*, and Kostka & Payne, *Tonal Harmony*, the chapters on non-chord
tones. The definitions are theirs, from memory; the few tones of each example are our own.
"""

from __future__ import annotations

import pytest

from earloop.line import Line, Meter, Tone
from earloop.line.pitch import pitch_from_name
from earloop.reading import Decisions, Key, Reading, read

C_MAJOR, A_MINOR = Key(0), Key(3, "minor")
EXAMPLES = {
    "passing, unaccented, up": ("C5:.5 D5:.5 E5:1 D5:1 C5:2", 0, {1: "passing"}),
    "passing, unaccented, down": ("G5:1 E5:.5 D5:.5 C5:1 B4:1 C5:2", 0, {2: "passing"}),
    "neighbor, upper": ("E5:1 E5:.5 F5:.5 E5:1 D5:1 C5:2", 0, {2: "neighbor"}),
    "neighbor, lower": ("C5:.5 B4:.5 C5:1 E5:1 D5:1 C5:2", 0, {1: "neighbor"}),
    "appoggiatura": ("C5:1 G5:1 F5:1 E5:1 A5:1 G5:1 E5:1 D5:1 C5:2", 0, {4: "appoggiatura"}),
    "suspension 4-3 over the dominant": ("C5:2 D5:1 C5:1 C5:1 B4:1 C5:2", 0, {3: "suspension"}),
    "retardation 7-8": ("C5:1 D5:1 B4:2 B4:1 C5:1 E5:2 C5:4", 0, {3: "retardation"}),
    "anticipation of the last tone": ("E5:1 D5:1.5 C5:.5 C5:2", 1, {2: "anticipation"}),
    "escape tone": ("E5:.5 F5:.5 D5:1 D5:.5 C5:.5 C5:1 C5:4", 0, {1: "escape"}),
    "changing tones": ("C5:1 D5:.5 B4:.5 C5:2 E5:1 D5:1 C5:2", 0, {1: "changing", 2: "changing"}),
    "arpeggiation": ("C5:.5 E5:.5 G5:.5 E5:.5 C5:2", 0, {1: "arpeggiation", 3: "arpeggiation"}),
    "pedal": (
        "E5:.5 G4:.5 F5:.5 G4:.5 D5:.5 G4:.5 E5:.5 G4:.5 C5:4",
        0,
        {1: "pedal", 3: "pedal", 5: "pedal"},
    ),
    "passing, chromatic": ("G5:1 G5:.5 F#5:.5 F5:1 E5:1 D5:2 C5:2", 0, {2: "passing"}),
    "neighbor, chromatic": ("G5:.5 F#5:.5 G5:1 E5:1 D5:1 C5:2", 0, {1: "neighbor"}),
    "appoggiatura 4-3": ("C5:2 G4:2 F5:1 E5:1 C5:2", 0, {2: "appoggiatura"}),
    "suspension 9-8": ("E5:2 D5:2 D5:2 C5:2", 0, {2: "suspension"}),
    "suspension 4-3 over the tonic": ("G5:2 F5:2 F5:1 E5:1 C5:2", 0, {2: "suspension"}),
    "retardation 2-3": ("B4:2 D5:2 D5:1 E5:1 C5:2", 0, {2: "retardation"}),
    "anticipation of a third": ("D5:1 F5:.5 E5:.5 E5:2", 0, {2: "anticipation"}),
    "changing tones, lower first": ("C5:1 B4:.5 D5:.5 C5:2", 0, {1: "changing", 2: "changing"}),
    "pedal above": ("G5:.5 C5:.5 G5:.5 D5:.5 G5:.5 E5:.5 G5:.5 C5:.5 C5:4", 0, {2: "pedal", 4: "pedal"}),
    "repetition": ("E5:1 E5:1 D5:1 D5:1 C5:4", 0, {1: "repetition", 3: "repetition"}),
}
IN_MINOR = {
    "passing, up": ("A4:.5 B4:.5 C5:1 D5:1 B4:1 A4:2", 0, {1: "passing"}),
    "appoggiatura 6-5": ("A4:1 C5:1 E5:2 A4:1 F5:1 E5:2", 3, {4: "appoggiatura"}),
    "changing tones round the tonic": ("A4:1 B4:.5 G#4:.5 A4:2 C5:1 B4:1 A4:2", 0, {1: "changing", 2: "changing"}),
    "arpeggiation": ("A4:.5 C5:.5 E5:.5 C5:.5 A4:2", 0, {1: "arpeggiation", 3: "arpeggiation"}),
}
HOSTS = {
    "neighbor, lower": {1: 0},
    "anticipation of the last tone": {2: 3},
    "passing, unaccented, up": {1: 0},
    "arpeggiation": {1: 0},
}


def example(text: str, first_downbeat: float, key: Key = C_MAJOR) -> Reading:
    """`C5:1 D5:.5 …` in 4/4 and its key, read."""
    time, tones = 0.0, []
    for part in text.split():
        name, length = part.split(":")
        tones.append(Tone(time, float(length), pitch_from_name(name)))
        time += float(length)
    line = Line(tuple(tones), meters=((0.0, Meter(4, 4, first_downbeat)),))
    return read(line, Decisions(home=key))


@pytest.mark.parametrize("name", EXAMPLES)
def test_figure(name: str) -> None:
    """The handbook's figure is named as the handbook names it."""
    text, downbeat, wanted = EXAMPLES[name]
    figures = example(text, downbeat).weights.figure
    assert {index: figures[index] for index in wanted} == wanted


@pytest.mark.parametrize("name", IN_MINOR)
def test_figure_in_minor(name: str) -> None:
    """The same figures in A minor, with its raised seventh."""
    text, downbeat, wanted = IN_MINOR[name]
    figures = example(text, downbeat, A_MINOR).weights.figure
    assert {index: figures[index] for index in wanted} == wanted


@pytest.mark.parametrize("name", HOSTS)
def test_each_ornament_names_the_tone_it_decorates(name: str) -> None:
    """A neighbor belongs to the tone it leaves, an anticipation to the tone it announces."""
    text, downbeat, _ = EXAMPLES[name]
    parent = example(text, downbeat).weights.parent
    assert {index: parent[index] for index in HOSTS[name]} == HOSTS[name]


def test_a_grace_note_is_a_grace_note() -> None:
    """Grace notes keep their own name and hang on the tone after them."""
    tones = (
        Tone(0, 1, pitch_from_name("C5")),
        Tone(1, 0, pitch_from_name("E5"), grace=True),
        Tone(1, 1, pitch_from_name("D5")),
        Tone(2, 2, pitch_from_name("C5")),
    )
    weights = read(Line(tones), Decisions(home=Key(0))).weights
    assert (weights.figure[1], weights.parent[1], weights.level[1]) == ("grace", 2, 0)
