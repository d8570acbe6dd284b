"""Single words of the command line that name a thing: an output, a part."""

from __future__ import annotations

from earloop.sounding.outputs import OutputChoice


def output_named(word: str) -> OutputChoice:
    """`speaker`, `none`, or a MIDI port's name."""
    if word == "speaker":
        return OutputChoice("speaker")
    return OutputChoice("silent") if word in ("none", "silent") else OutputChoice("midi", port=word)


def number_or_name(word: str | None) -> int | str | None:
    """`2` means the second, any other word a name."""
    return int(word) if word and word.isdigit() else word
