"""Sentences on a terminal, broken between words where a line ends; elsewhere, as for a program, in one line."""

from __future__ import annotations

import shutil
import sys
import textwrap


def say(sentence: str) -> None:
    """Print it at once; line breaks that are in it stay."""
    if sys.stdout.isatty():
        width = max(20, shutil.get_terminal_size().columns - 1)
        sentence = "\n".join(textwrap.fill(line, width, break_on_hyphens=False) for line in sentence.split("\n"))
    print(sentence, flush=True)
