"""A sitting from the command line: the score with what was decided about it, noted in the journal under its name."""

from __future__ import annotations

import argparse
from pathlib import Path

from earloop.cli.named import number_or_name
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import chosen, line_of
from earloop.engine.client import Engine
from earloop.journal.place import page_name, score_name
from earloop.scores import ScoreError
from earloop.scores.kept_pages import page_word
from earloop.scores.other_readings import kept_about
from earloop.screen.library import phrases_folder
from earloop.session.choices import Choices
from earloop.session.session import Session


def session_of(words: argparse.Namespace, engine: Engine, choices: Choices) -> Session:
    """The session on the score the words name; nothing is written beside it. Raises Refusal."""
    line = line_of(words, words.file)
    try:
        decided = kept_about(words.file, line, page_word(**chosen(words))).decided
    except ScoreError as error:
        raise Refusal(error.sentence) from error
    session = Session(line, engine, choices, decided)
    page = page_name(
        number_or_name(words.part),
        number_or_name(words.tune),
        words.first_measure,
        words.last_measure,
        words.unfold,
    )
    session.practising.score = score_name(words.file, phrases_folder(), page)
    session.practising.title = line.title or Path(words.file).stem
    return session
