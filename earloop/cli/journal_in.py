"""The happenings that a command's words ask for."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import chosen, line_of
from earloop.journal import Happening, Journal, JournalError
from earloop.journal.place import LIBRARY, journal_path, page_name, score_name, short_name
from earloop.scores import ScoreError
from earloop.scores.package import is_package
from earloop.scores.received import receive
from earloop.screen.library import phrases_folder


@contextlib.contextmanager
def opened() -> Iterator[Journal]:
    """The user's journal. What it refuses is a Refusal."""
    try:
        with Journal.open() as journal:
            yield journal
    except JournalError as error:
        raise Refusal(str(error)) from error


def happenings_of(words: argparse.Namespace) -> list[Happening]:
    """What is noted on the score the words name, or on all; no journal is made for looking into it."""
    since = since_of(words.since)
    phrase = None if words.phrase is None else words.phrase - 1
    if phrase is not None and phrase < 0:
        raise Refusal("phrases count from 1")
    there = journal_path().exists()
    if words.file is None:
        if not there:
            return []
        with opened() as journal:
            return journal.happenings(since=since, phrase=phrase)
    name = name_of(words)
    if there:
        with opened() as journal:
            name = known_as(journal, name)
            if name in journal.scores():
                return journal.happenings(name, since, phrase)
    line_of(words, words.file)  # nothing is noted of it: where it is no score, that is why
    return []


def name_of(words: argparse.Namespace) -> str:
    """The journal's name of the score that the words name."""
    path, choice = words.file, chosen(words)
    if is_package(path) and path.exists():
        try:
            received = receive(path)
        except ScoreError as error:
            raise Refusal(error.sentence) from error
        path, choice = received.score, choice if any(choice.values()) else received.choice
    return score_name(path, phrases_folder(), page_name(**choice))


def known_as(journal: Journal, name: str) -> str:
    """The name itself; where nothing is noted under it but under one other file of that name, that one, and it is said.

    So a score that was moved keeps its past.
    """
    noted = journal.scores()
    if name in noted:
        return name
    others = {other for other in noted if short_name(other) == short_name(name)}
    if len(others) != 1:
        if not Path(name.partition("#")[0]).exists() and not name.startswith(LIBRARY):
            said = f"there is no file {name}, and nothing is noted under that name"
            raise Refusal(f"{said}: earloop log shows all there is")
        return name
    (other,) = others
    print(f"earloop: nothing is noted of {name}; this is {other}", file=sys.stderr)
    return other


def since_of(word: str | None) -> datetime | None:
    """The moment a date names, in local time. Raises Refusal."""
    if word is None:
        return None
    try:
        return datetime.fromisoformat(word).astimezone()
    except (ValueError, OverflowError, OSError):
        raise Refusal(f"{word} is no date: write it as 2026-05-31") from None
