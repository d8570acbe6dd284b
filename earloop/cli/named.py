"""Single words of the command line that name a thing: an output, a part."""

from __future__ import annotations

from dataclasses import replace

from earloop.cli.refusal import Refusal
from earloop.performing import STRANDS, Strand
from earloop.sounding.outputs import OutputChoice


def output_named(word: str, programs: list[str] | None = None) -> OutputChoice:
    """`speaker`, `none`, or a MIDI port's name; `programs` as in `upper=74`. Raises Refusal."""
    return replace(_where(word), programs=tuple(_program(told) for told in programs or []))


def _where(word: str) -> OutputChoice:
    if word == "speaker":
        return OutputChoice("speaker")
    return OutputChoice("silent") if word in ("none", "silent") else OutputChoice("midi", port=word)


def _program(told: str) -> tuple[Strand, int]:
    """`upper=74`: General MIDI counts programs from 1, the wire from 0."""
    name, _, number = told.partition("=")
    for strand in STRANDS:
        if strand == name and number.isdigit() and 1 <= int(number) <= 128:
            return strand, int(number) - 1
    raise Refusal(f"{told} is no program: write a line and a General MIDI number, such as upper=74")


def number_or_name(word: str | None) -> int | str | None:
    """`2` means the second, any other word a name."""
    return int(word) if word and word.isdigit() else word
