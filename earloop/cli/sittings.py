"""A sitting from the command line: the score with what was decided about it, noted in the journal under its name."""

from __future__ import annotations

import argparse
from pathlib import Path

from earloop.cli.journal_in import name_of
from earloop.cli.scores_in import decided_of, line_of
from earloop.engine.client import Engine
from earloop.session.choices import Choices
from earloop.session.session import Session


def session_of(words: argparse.Namespace, engine: Engine, choices: Choices) -> Session:
    """The session on the score the words name; nothing is written beside it. Raises Refusal."""
    line = line_of(words, words.file)
    session = Session(line, engine, choices, decided_of(words, words.file, line))
    session.practising.score = name_of(words)
    session.practising.title = line.title or Path(words.file).stem
    return session
