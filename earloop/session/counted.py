"""A number with its noun, for screens and commands."""

from __future__ import annotations


def counted(number: int, noun: str) -> str:
    """`1 tone`, `2 tones`."""
    return f"{number} {noun}{'s' * (number != 1)}"
