"""Which lines hide in the line: upper, middle, lower, or a single one."""

from __future__ import annotations

from earloop.line import Line, Span
from earloop.reading.decisions import NONE_DECIDED, Decisions
from earloop.reading.record import Voice


def find_voices(
    line: Line, phrases: tuple[Span, ...], decided: Decisions = NONE_DECIDED
) -> tuple[tuple[Voice, ...], tuple[float, ...]]:
    """One label a tone and how sure it is."""
    voices: list[Voice] = ["single"] * len(line)
    for index, voice in decided.voices.items():
        voices[index] = voice
    return tuple(voices), (0.5,) * len(voices)
