"""`give`: a score with one's reading of it as one file to send."""

from __future__ import annotations

import argparse

from earloop.cli.refusal import Refusal
from earloop.cli.scores_in import chosen, line_of
from earloop.scores import ScoreError
from earloop.scores.kept_pages import page_word
from earloop.scores.other_readings import text_to_give
from earloop.scores.package import free_package_name, is_package, write_package
from earloop.scores.received import receive


def give(words: argparse.Namespace) -> int:
    """Write the package and say where it is. A package that was received is given on with what was decided since."""
    line = line_of(words, words.file)
    score, choice = words.file, chosen(words)
    output = words.output or free_package_name(words.file.parent, words.file)
    try:
        if is_package(score):
            received = receive(score)
            score, choice = received.score, choice if any(choice.values()) else received.choice
        text = text_to_give(score, line, page_word(**choice))
        path = write_package(output, score, text, line.title or score.stem, choice)
    except ScoreError as error:
        raise Refusal(error.sentence) from error
    print(f"wrote {path}: {score.name} with your reading; earloop {path.name} opens it")
    return 0
