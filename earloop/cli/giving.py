"""`give`: a score with one's reading of it as one file to send."""

from __future__ import annotations

import argparse
import json

from earloop.cli.journal_in import name_of
from earloop.cli.planning import minutes_of, phrase_of
from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import chosen, line_of, reading_of
from earloop.cli.written import check_free
from earloop.coaching.plan import TEACHER, as_object
from earloop.coaching.today import plan_to_give
from earloop.journal import JournalError
from earloop.scores import ScoreError
from earloop.scores.kept_pages import page_word
from earloop.scores.other_readings import text_to_give
from earloop.scores.package import free_package_name, is_package, write_package
from earloop.scores.received import receive


def give(words: argparse.Namespace) -> int:
    """Write the package and say where it is. A package that was received is given on with what was decided since."""
    line = line_of(words, words.file)
    score, choice = words.file, chosen(words)
    if words.output is not None:
        check_free(words.output, words.replace, [words.file])
    output = words.output or free_package_name(words.file.parent, words.file)
    try:
        if is_package(score):
            received = receive(score)
            score, choice = received.score, choice if any(choice.values()) else received.choice
        text = text_to_give(score, line, page_word(**choice))
        plan = _plan(words) if words.plan else ""
        path = write_package(output, score, text, line.title or score.stem, choice, plan, words.replace)
    except ScoreError as error:
        raise Refusal(error.sentence) from error
    what = f"your reading and a plan for phrase {words.phrase}" if plan else "your reading"
    print(f"wrote {path}: {score.name} with {what}; earloop {path.name} opens it")
    return 0


def _plan(words: argparse.Namespace) -> str:
    """The plan to go with it, as JSON text. Raises Refusal."""
    minutes = minutes_of(words)
    reading = reading_of(words, words.file)
    source = " ".join((words.name or "").split()) or TEACHER
    try:
        return json.dumps(as_object(plan_to_give(reading, name_of(words), phrase_of(words, reading), source, minutes)))
    except JournalError as error:
        raise Refusal(str(error)) from error
