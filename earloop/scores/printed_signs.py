"""The signs music21 hangs on a note, in the open standards' own words (MusicXML 4.0 element names)."""

from __future__ import annotations

import re
from typing import Any

_ORNAMENTS = {
    "Trill": "trill-mark",
    "HalfStepTrill": "trill-mark",
    "WholeStepTrill": "trill-mark",
    "Mordent": "mordent",
    "HalfStepMordent": "mordent",
    "WholeStepMordent": "mordent",
    "InvertedMordent": "inverted-mordent",
    "HalfStepInvertedMordent": "inverted-mordent",
    "WholeStepInvertedMordent": "inverted-mordent",
    "Turn": "turn",
    "InvertedTurn": "inverted-turn",
    "Schleifer": "schleifer",
    "Shake": "shake",
    "Tremolo": "tremolo",
}
_BREATHS = {"BreathMark": "breath", "Caesura": "caesura"}
_OTHER_WORDS = {"StrongAccent": "strong-accent", "DetachedLegato": "detached-legato", "StringHarmonic": "harmonic"}
BARLINES = {
    "dotted": "dotted-bar",
    "dashed": "dotted-bar",
    "tick": "dotted-bar",
    "short": "dotted-bar",
    "double": "double-bar",
    "final": "double-bar",
    "heavy": "double-bar",
    "heavy-heavy": "double-bar",
    "heavy-light": "double-bar",
}
_STRENGTH = ("", "dotted-bar", "comma", "breath", "double-bar", "caesura")


def stronger(first: str, second: str) -> str:
    """The stronger of two breaks."""
    return max(first, second, key=_STRENGTH.index)


def ornaments_of(expressions: list[Any]) -> tuple[str, ...]:
    """The ornament signs among a note's expressions."""
    names = (_ORNAMENTS.get(type(sign).__name__) for sign in expressions)
    return tuple(name for name in names if name)


def has_fermata(expressions: list[Any]) -> bool:
    return any(type(sign).__name__ == "Fermata" for sign in expressions)


def articulations_of(articulations: list[Any]) -> tuple[tuple[str, ...], str]:
    """(articulation words, break after the note) from a note's articulations."""
    words: list[str] = []
    pause = ""
    for sign in articulations:
        kind = type(sign).__name__
        if kind in _BREATHS:
            pause = stronger(pause, "comma" if getattr(sign, "symbol", "") == "comma" else _BREATHS[kind])
        elif kind not in ("Fingering", "StringIndication", "FretIndication"):
            words.append(_OTHER_WORDS.get(kind) or re.sub(r"(?<!^)(?=[A-Z])", "-", kind).lower())
    return tuple(words), pause


def lyric_of(lyrics: list[Any]) -> str:
    """The first verse's syllable, with a hyphen where the word goes on."""
    if not lyrics:
        return ""
    first = lyrics[0]
    text = first.text or ""
    return text + "-" if first.syllabic in ("begin", "middle") and text else text
