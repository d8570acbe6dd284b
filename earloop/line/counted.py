"""A number with its noun, for the sentences of all rooms."""

from __future__ import annotations


def counted(number: int, noun: str, several: str = "") -> str:
    """`1 tone`, `2 tones`, `1,200 tones`; `several` is the plural where it is more than an s."""
    return f"{number:,} {noun if number == 1 else several or noun + 's'}"
