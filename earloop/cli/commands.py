"""Words on the command line → what earloop does. Exit codes: 0 done, 1 partly done, 2 bad input."""

from __future__ import annotations

import argparse
import sys


def main(words: list[str]) -> int:
    """Run one command and return its exit code."""
    parser = argparse.ArgumentParser(prog="earloop")
    commands = parser.add_subparsers(dest="command", required=True)
    reading = commands.add_parser("read")
    reading.add_argument("--batch", action="store_true")
    chosen = parser.parse_args(words)
    return batch() if chosen.batch else 2


def batch() -> int:
    """Standard input to standard output by the batch form; 1 at the end if any row was bad."""
    from earloop.cli.batch import read_lines

    good = True
    for text, fine in read_lines(sys.stdin):
        sys.stdout.write(text + "\n")
        good = good and fine
    return 0 if good else 1
