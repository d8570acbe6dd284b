"""Single words of the command line that name a thing: an output, a part."""

from __future__ import annotations

from dataclasses import replace

from earloop.cli.refusal import Refusal
from earloop.performing import STRANDS, Strand
from earloop.sounding.outputs import OutputChoice

MADE_UP = {"program": 74, "channel": 3}


def output_named(word: str, programs: list[str] | None = None) -> OutputChoice:
    """`speaker`, `none`, or a MIDI port's name; `programs` as in `upper=74`. Raises Refusal."""
    return replace(_where(word), programs=tuple(line_number(told, "program", 128) for told in programs or []))


def _where(word: str) -> OutputChoice:
    if word == "speaker":
        return OutputChoice("speaker")
    return OutputChoice("silent") if word in ("none", "silent") else OutputChoice("midi", port=word)


def line_number(told: str, what: str, most: int) -> tuple[Strand, int]:
    """`upper=74`: a line and its program or channel, both counted from 1 here and from 0 on the wire."""
    name, _, number = told.partition("=")
    for strand in STRANDS:
        if strand == name and number.isdigit() and 1 <= int(number) <= most:
            return strand, int(number) - 1
    raise Refusal(f"{told} is no {what}: write a line and a {what} from 1 to {most}, such as upper={MADE_UP[what]}")


def number_or_name(word: str | None) -> int | str | None:
    """`2` means the second, any other word a name."""
    return int(word) if word and word.isdigit() else word
