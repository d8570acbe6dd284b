"""Opening the screen from the command line."""

from __future__ import annotations

import argparse
import sys

from earloop.cli.named import number_or_name
from earloop.cli.refusal import Refusal
from earloop.cli.sound_words import output_of, sound_of


def open_screen(words: argparse.Namespace) -> int:
    """The screen on a score, or on the phrase library. Refuses where there is no terminal or no such file."""
    if words.file is not None and not words.file.exists():
        raise Refusal(f"there is no file {words.file}: check the name, or run earloop alone and choose with F")
    sound, output = sound_of(words), output_of(words)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refusal("the screen needs a terminal: use earloop read, play or render where there is none")
    from earloop.screen.app import run_screen

    wanted = {
        "tune": number_or_name(words.tune),
        "first_measure": words.first_measure,
        "last_measure": words.last_measure,
        "unfold_repeats": words.unfold,
    }
    return run_screen(
        words.file,
        part=number_or_name(words.part),
        ascii=words.ascii,
        theme=words.theme,
        output=output,
        sound=sound,
        wanted=wanted,
    )
