"""The words of the commands around practice: the journal, the plan, what is due, teacher and student."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from earloop.cli.plain_parser import PlainParser

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[PlainParser]
Words = Callable[[argparse.ArgumentParser], None]

COACHING = ("log", "plan", "due", "students")


def add_coaching(commands: Commands, score: Words) -> None:
    """Add the commands; `score` adds what to take from a score."""
    _log(commands.add_parser("log", help="say what you practised; take it out, or wipe it"), score)
    _plan(commands.add_parser("plan", help="propose a session on a phrase: layers, passes, tempo, rests"), score)
    _due(commands.add_parser("due", help="say what is due today, on all scores"))
    _students(commands.add_parser("students", help="show logs that students handed back, side by side"))


def _log(words: argparse.ArgumentParser, score: Words) -> None:
    words.add_argument("file", nargs="?", type=Path, metavar="FILE", help="a score; without it, all of them")
    score(words)
    words.add_argument("--phrase", type=int, metavar="N", help="one phrase, from 1")
    words.add_argument("--since", metavar="DATE", help="from this day on, such as 2026-05-31")
    form = words.add_mutually_exclusive_group()
    form.add_argument("--csv", action="store_true", help="as CSV; phrases from 1, times in UTC")
    form.add_argument("--json", action="store_true", help="as JSON; phrases and tones from 0, times in UTC")
    form.add_argument("--export", type=Path, metavar="OUT", help="into a new file: x.csv, x.json or x.jsonl")
    form.add_argument("--wipe", action="store_true", help="forget all of it, for good; asks for your word")
    form.add_argument("--hand-back", type=Path, metavar="OUT", help="the score's log for a teacher, into a new file")
    words.add_argument("--name", metavar="NAME", help="your name in it, as you want it; default: none")
    words.add_argument("--yes", action="store_true", help="wipe without asking")
    add_replace(words)


def add_replace(words: argparse.ArgumentParser) -> None:
    """What every command takes that writes a file by name."""
    words.add_argument("--replace", action="store_true", help="write over a file of that name if there is one")


def _plan(words: argparse.ArgumentParser, score: Words) -> None:
    words.add_argument("file", type=Path, metavar="FILE", help="a score")
    score(words)
    words.add_argument("--phrase", type=int, metavar="N", help="which phrase, from 1; default: the first")
    words.add_argument("--minutes", type=int, metavar="N", help="propose a new one for so much time; default: 20")
    words.add_argument("--json", action="store_true", help="as JSON; the phrase from 0")


def add_plan_to_give(words: argparse.ArgumentParser) -> None:
    """What `give` takes for a plan that goes with the score."""
    words.add_argument("--plan", action="store_true", help="with a plan for one phrase: yours for it, or a proposal")
    words.add_argument("--phrase", type=int, default=1, metavar="N", help="the plan's phrase, from 1: 1")
    words.add_argument("--minutes", type=int, metavar="N", help="propose the plan for so much time")
    words.add_argument("--name", metavar="NAME", help="whose the plan is, as the student shall read it")


def _due(words: argparse.ArgumentParser) -> None:
    words.add_argument("--on", metavar="DATE", help="on another day, such as 2026-05-31")
    words.add_argument("--json", action="store_true", help="as JSON; phrases and tones from 0")


def _students(words: argparse.ArgumentParser) -> None:
    words.add_argument("files", nargs="+", type=Path, metavar="FILE", help="what students made with log --hand-back")
    words.add_argument("--json", action="store_true", help="as JSON; phrases and tones from 0")
