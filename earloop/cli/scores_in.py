"""The line, the reading and the performance that a command's words ask for."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from earloop.cli.named import number_or_name
from earloop.cli.refusal import Refusal
from earloop.layers import Layer, build
from earloop.line import Line
from earloop.performing import Manner, Performance, perform
from earloop.reading import NONE_DECIDED, Decisions, Reading, read
from earloop.scores import ScoreError, load_line
from earloop.scores.kept_pages import page_word
from earloop.scores.other_readings import kept_about
from earloop.session.choices import FASTEST, SLOWEST


def chosen(words: argparse.Namespace) -> dict[str, Any]:
    """What to take of the score, in the words of `load_line`."""
    return {
        "part": number_or_name(words.part),
        "tune": number_or_name(words.tune),
        "first_measure": words.first_measure,
        "last_measure": words.last_measure,
        "unfold_repeats": words.unfold,
    }


def line_of(words: argparse.Namespace, path: Path) -> Line:
    """The line the words name. Raises Refusal with one sentence."""
    try:
        return load_line(path, **chosen(words))
    except ScoreError as error:
        raise Refusal(str(error)) from error


def reading_of(words: argparse.Namespace, path: Path) -> Reading:
    """The player's own reading: with what is kept about the score, unless the words ask for the proposal."""
    return reading_and_decisions(words, path)[0]


def reading_and_decisions(words: argparse.Namespace, path: Path) -> tuple[Reading, Decisions]:
    """That reading, and what of it was decided by hand."""
    line = line_of(words, path)
    decided = decided_of(words, path, line)
    return read(line, decided), decided


def decided_of(words: argparse.Namespace, path: Path, line: Line) -> Decisions:
    """What is kept about the score; nothing where the words ask for the proposal. Raises Refusal."""
    if getattr(words, "proposal", False):
        return NONE_DECIDED
    try:
        return kept_about(path, line, page_word(**chosen(words))).decided
    except ScoreError as error:
        raise Refusal(error.sentence) from error


def check_tempo(words: argparse.Namespace) -> None:
    """Raises Refusal for a tempo that the player doesn't have."""
    if not SLOWEST <= words.tempo <= FASTEST:
        raise Refusal(f"a tempo of {words.tempo} percent is out of reach: choose {SLOWEST} to {FASTEST}")


def check_measure(words: argparse.Namespace) -> None:
    """Raises Refusal for cents that can't be a tolerance, and for a length that can't be asked of a tone."""
    if not 1 <= words.tolerance <= 100:
        raise Refusal(f"a tolerance of {words.tolerance:g} cents is out of reach: choose 1 to 100")
    if not 1 <= words.held <= 100:
        raise Refusal(f"--held is percent of a tone's length; {words.held:g} is out of reach: choose 1 to 100")


def check_phrase(words: argparse.Namespace, reading: Reading) -> int | None:
    """The phrase the words name, from 0; None where they name none. Raises Refusal where the line doesn't have it."""
    if words.phrase is None:
        return None
    count = len(reading.phrases)
    if not 1 <= words.phrase <= count:
        raise Refusal(f"there is no phrase {words.phrase}: this line has {count}, counted from 1")
    return int(words.phrase) - 1


def layer_of(words: argparse.Namespace, reading: Reading) -> Layer:
    """The layer the words ask for, over one phrase or the whole line."""
    phrase = check_phrase(words, reading)
    span = None if phrase is None else reading.phrases[phrase]
    layer = build(reading, words.layer, span, words.depth, not words.closed)
    if not layer.tones:
        raise Refusal(f"the {words.layer} layer is empty here: choose another layer, or a smaller --depth")
    return layer


def performance_of(words: argparse.Namespace) -> tuple[Reading, Layer, Performance]:
    """Score, reading, layer and events for `play` and `render`."""
    check_tempo(words)
    if (words.loops is not None and words.loops < 1) or words.count_in < 0:
        raise Refusal("--loops has to be 1 or more, and --count-in 0 or more")
    reading = reading_of(words, words.file)
    layer = layer_of(words, reading)
    manner = Manner(words.drone, words.count_in, words.answer_gap, shaped=not words.level_loudness)
    return reading, layer, perform(reading, layer, manner)
