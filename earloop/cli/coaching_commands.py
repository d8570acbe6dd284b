"""Which function does each command around practice; what they need is imported when one is asked for."""

from __future__ import annotations

import argparse


def do(words: argparse.Namespace) -> int:
    """Run the command and return its exit code."""
    return DONE_BY[words.command](words)


def _log(words: argparse.Namespace) -> int:
    if words.hand_back is not None:
        from earloop.cli.teaching import hand_back

        return hand_back(words)
    from earloop.cli.journal_told import log

    return log(words)


def _plan(words: argparse.Namespace) -> int:
    from earloop.cli.planning import plan

    return plan(words)


def _due(words: argparse.Namespace) -> int:
    from earloop.cli.planning import due

    return due(words)


def _students(words: argparse.Namespace) -> int:
    from earloop.cli.teaching import students

    return students(words)


DONE_BY = {"log": _log, "plan": _plan, "due": _due, "students": _students}
