"""Words on the command line → what earloop does. Exit codes: 0 done, 1 partly done, 2 bad input."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from earloop.cli.coaching_words import COACHING
from earloop.cli.refusal import Refusal
from earloop.cli.words import COMMANDS, parser


def main(words: list[str]) -> int:
    """Run one command and return its exit code."""
    # A word that is no command and no option is a score: `earloop FILE` opens the screen.
    if not words or (words[0] not in (*COMMANDS, "screen", "--help", "-h", "--version")):
        words = ["screen", *words]
    try:
        _no_such_command(words)
        chosen = parser().parse_args(words)
        return DONE_BY[chosen.command](chosen)
    except Refusal as refusal:
        print(f"earloop: {refusal}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        # Whoever read our output has had enough.
        sys.stderr.close()
        return 0
    except KeyboardInterrupt:
        return 130


def _no_such_command(words: list[str]) -> None:
    """Refuse `earloop reed FILE`: a word that is neither a command nor looks like a file's name."""
    word = words[1] if len(words) > 2 and words[0] == "screen" else ""
    if word.isidentifier() and not Path(word).exists():
        raise Refusal(f"there is no command {word}, nor a file of that name: earloop --help lists the commands")


def _screen(words: argparse.Namespace) -> int:
    from earloop.cli.opening import open_screen

    return open_screen(words)


def _read(words: argparse.Namespace) -> int:
    from earloop.cli import many

    if words.batch:
        return many.batch(sys.stdin, sys.stdout, words.jobs, words.scheduler)
    if words.file is None:
        raise Refusal("read needs a score, a folder, or --batch: earloop read FILE")
    if words.file.is_dir():
        return many.folder(words.file, words.output, words.jobs, words.scheduler)
    if words.output is not None:
        raise Refusal("-o is for a folder's readings: name a folder, or leave -o out")
    from earloop.cli.describing import as_sentences
    from earloop.cli.scores_in import reading_and_decisions
    from earloop.cli.telling import as_json, as_table

    reading, decided = reading_and_decisions(words, words.file)
    if words.json:
        print(json.dumps(as_json(reading)))
    elif words.describe:
        print("\n".join(as_sentences(reading, decided)))
    else:
        print(as_table(reading, words.written))
    return 0


def _play(words: argparse.Namespace) -> int:
    from earloop.cli.sounding_out import play

    return play(words)


def _render(words: argparse.Namespace) -> int:
    from earloop.cli.sounding_out import render

    return render(words)


def _check(words: argparse.Namespace) -> int:
    from earloop.cli.checking import check

    return check(words)


def _give(words: argparse.Namespace) -> int:
    from earloop.cli.giving import give

    return give(words)


def _compare(words: argparse.Namespace) -> int:
    from earloop.cli.comparing import compare

    return compare(words)


def _coaching(words: argparse.Namespace) -> int:
    from earloop.cli.coaching_commands import do

    return do(words)


def _ask(words: argparse.Namespace) -> int:
    from earloop.cli.asking import ask

    return ask(words)


def _sing(words: argparse.Namespace) -> int:
    from earloop.cli.singing import sing

    return sing(words)


def _ports(words: argparse.Namespace) -> int:
    from earloop.cli.sounding_out import ports

    return ports()


DONE_BY = {
    "screen": _screen,
    "read": _read,
    "play": _play,
    "render": _render,
    "check": _check,
    "ask": _ask,
    "sing": _sing,
    "compare": _compare,
    "give": _give,
    **dict.fromkeys(COACHING, _coaching),
    "ports": _ports,
}
