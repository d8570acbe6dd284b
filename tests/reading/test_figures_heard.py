"""Figures against written chords, each in the shape a harmony handbook prints it.

Source: Kostka & Payne, *Tonal Harmony*, and Aldwell & Schachter, *Harmony and Voice Leading*, the chapters on nonchord
tones. The definitions are theirs, from memory; the few tones and chords of each example are our own.
"""

from __future__ import annotations

import pytest

from earloop.line import Line, Meter, OtherTone, Tone
from earloop.line.pitch import pitch_from_name
from earloop.reading import Decisions, Key, read
from earloop.reading.weight_reasons import why_weight

C, F, G = "C3 E4 G4", "F3 A3 C4", "G3 B3 D4"
EXAMPLES = {
    "passing over a chord that stays": ("C5:.5 D5:.5 E5:1 C5:2", f"{C}:4", {1: "passing"}),
    "the same tones, each with its chord": (
        "C5:.5 D5:.5 E5:1 C5:2",
        f"{C}:.5 {G}:.5 {C}:3",
        {1: "structural"},
    ),
    "passing, accented": ("G4:2 F5:1 E5:.5 D5:.5 C5:4", f"{G}:2 {C}:1 {C}:.5 {G}:.5 {C}:4", {2: "structural"}),
    "neighbor": ("E5:.5 F5:.5 E5:1 C5:2", f"{C}:4", {1: "neighbor"}),
    "suspension 4-3, struck again": ("C5:2 C5:1 B4:1 C5:4", f"{F}:2 G3 D4 G4:2 {C}:4", {1: "suspension"}),
    "suspension 4-3, tied over": ("E5:1 C5:2 B4:1 C5:4", f"{C}:2 G3 D4 G4:2 {C}:4", {1: "suspension"}),
    "suspension 9-8, tied over": ("B4:1 D5:2 C5:1 E5:4", f"{G}:2 C3 E4 G4:2 {C}:4", {1: "suspension"}),
    "retardation 7-8, tied over": ("D5:1 B4:2 C5:1 E5:4", f"{G}:2 C3 E4 G4:2 {C}:4", {1: "retardation"}),
    "appoggiatura": ("G4:2 F5:1 E5:1 C5:4", f"{C}:8", {1: "appoggiatura"}),
    "anticipation": ("D5:1.5 C5:.5 C5:2", f"{G}:2 {C}:2", {1: "anticipation"}),
    "escape tone": ("E5:.5 F5:.5 D5:1 C5:2", f"{C}:1 {G}:1 {C}:2", {1: "escape"}),
    "changing tones": ("E5:1 F5:.5 D5:.5 E5:2", f"{C}:4", {1: "changing", 2: "changing"}),
    "arpeggiation": ("C5:.5 E5:.5 G5:.5 E5:.5 C5:2", f"{C}:4", {1: "arpeggiation", 3: "arpeggiation"}),
    "passing seventh of its own chord": ("G5:1.5 F5:.5 E5:2", f"{G}:2 {C}:2", {1: "structural"}),
}


def example(melody: str, chords: str) -> Line:
    """`C5:.5 D5:.5 …` in 4/4 over `C3 E4 G4:4 …`, each chord as long as its number says."""
    tones, at = [], 0.0
    for word in melody.split():
        name, length = word.split(":")
        tones.append(Tone(at, float(length), pitch_from_name(name)))
        at += float(length)
    others, names, at = [], [], 0.0
    for word in chords.split():
        name, _, length = word.partition(":")
        names.append(name)
        if length:
            others += [OtherTone(at, float(length), pitch_from_name(each)) for each in names]
            names, at = [], at + float(length)
    return Line(tuple(tones), meters=((0.0, Meter(4, 4)),), fifths=0, others=tuple(others))


@pytest.mark.parametrize("name", EXAMPLES)
def test_figure_over_chords(name: str) -> None:
    """The handbook's figure is named as the handbook names it."""
    melody, chords, wanted = EXAMPLES[name]
    figures = read(example(melody, chords), Decisions(home=Key(0))).weights.figure
    assert {index: figures[index] for index in wanted} == wanted


def test_a_silent_stretch_is_read_as_the_line_alone() -> None:
    """Other parts that fall silent before the line say nothing of what follows."""
    melody = "G4:2 A4:2 C5:.5 D5:.5 E5:1 D5:1 C5:1"
    line, bare = example(melody, f"{G}:2"), example(melody, "")
    figures, alone = (read(each, Decisions(home=Key(0))).weights.figure for each in (line, bare))
    assert figures[2:] == alone[2:]


def test_the_reason_says_what_it_is_heard_against() -> None:
    reading = read(example("C5:.5 D5:.5 E5:1 C5:2", f"{C}:4"), Decisions(home=Key(0)))
    assert "asses by step over the chord that the other parts hold" in why_weight(reading, 1)
    alone = read(example("C5:.5 D5:.5 E5:1 C5:2", ""), Decisions(home=Key(0)))
    assert "other parts" not in why_weight(alone, 1)
