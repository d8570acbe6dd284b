"""A parser that refuses like everything else here: one sentence, no list of all that could have been written."""

from __future__ import annotations

import argparse
import re
from typing import NoReturn

BAD_INPUT = 2
_CHOICE = re.compile(r"argument (?P<what>\S+): invalid choice: (?P<given>.+?) \(choose from (?P<known>.+)\)")
_KIND = re.compile(r"argument (?P<what>\S+): invalid (?P<kind>\w+) value: (?P<given>.+)")
_EXPECTED = re.compile(r"argument (?P<what>\S+): expected .*")
_TOGETHER = re.compile(r"argument (?P<what>\S+): not allowed with argument (?P<given>\S+)")
_MISSING = re.compile(r"the following arguments are required: (?P<what>.+)")
_UNKNOWN = re.compile(r"unrecognized arguments: (?P<what>.+)")
_NUMBERS = {"int": "whole number", "float": "number"}


class PlainParser(argparse.ArgumentParser):
    """Its commands are of the same kind."""

    def error(self, message: str) -> NoReturn:
        self.exit(BAD_INPUT, f"earloop: {plainly(message, self.prog)}\n")


def plainly(message: str, prog: str) -> str:
    """What argparse says of a mistake, as a sentence that says what to do."""
    told = f"{prog} --help tells what it takes"
    if found := _CHOICE.fullmatch(message):
        return f"{found['what']} can't be {_bare(found['given'])}: choose {_bare(found['known'])}"
    if (found := _KIND.fullmatch(message)) and found["kind"] in _NUMBERS:
        return f"{found['what']} can't be {_bare(found['given'])}: give a {_NUMBERS[found['kind']]}"
    if found := _EXPECTED.fullmatch(message):
        return f"something is missing after {found['what']}: {told}"
    if found := _TOGETHER.fullmatch(message):
        return f"{found['given']} and {found['what']} don't go together: choose one of them"
    if found := _MISSING.fullmatch(message):
        return f"{prog} needs {found['what']} too: {told}"
    if found := _UNKNOWN.fullmatch(message):
        return f"nothing here is called {found['what']}: earloop COMMAND --help tells what a command takes"
    return f"{message}: {told}"


def _bare(quoted: str) -> str:
    return quoted.replace("'", "")
