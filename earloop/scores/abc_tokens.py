"""One line of ABC music code → tokens (ABC standard 2.1, section 4)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

_LENGTH = r"\d*/*\d*"
_NOTE = rf"(?:\^\^|\^|__|_|=)?[A-Ga-g][,']*{_LENGTH}"
_TOKEN = re.compile(
    rf"""
      (?P<field>\[[A-Za-z]:[^\]]*\])
    | (?P<bar>\[\|\]?:*|:*\.?\|[|\]]*:*|::+)(?P<volta>\s*\[?\d[\d,\-]*)?
    | (?P<ending>\[\s*\d[\d,\-]*)
    | (?P<sign>![^!\s]{{1,40}}!|\+[^+\s|]{{2,40}}\+)
    | (?P<grace>\{{/?[^}}]*\}})
    | (?P<text>"[^"]*")
    | (?P<chord>\[[^\]|]*\]{_LENGTH})
    | (?P<tuplet>\(\d+(?::\d*){{0,2}})
    | (?P<slur>\.?\()
    | (?P<close>\))
    | (?P<note>{_NOTE})
    | (?P<rest>[zx]{_LENGTH})
    | (?P<rests>[ZX]\d*)
    | (?P<spacer>y{_LENGTH})
    | (?P<tie>\.?-)
    | (?P<broken>>+|<+)
    | (?P<overlay>&)
    | (?P<short>[.~h-wH-W])
    """,
    re.VERBOSE,
)
_PARTS = re.compile(rf"(\^\^|\^|__|_|=)?([A-Ga-g])([,']*)({_LENGTH})")


class Token(NamedTuple):
    """`kind` is the name of one of the groups above; `more` holds a volta number that follows a bar line."""

    kind: str
    text: str
    more: str = ""


class NoteParts(NamedTuple):
    """A note in pieces: accidental sign, letter, octave marks, length."""

    accidental: str
    letter: str
    octave: str
    length: str


def tokens(code: str) -> Iterator[Token]:
    """The tokens of one line; what ABC doesn't define is passed over."""
    for match in _TOKEN.finditer(code):
        kind = match.lastgroup or ""
        if match["bar"] is not None:
            yield Token("bar", match["bar"], (match["volta"] or "").strip(" ["))
        else:
            yield Token(kind, match[0])


def note_parts(code: str) -> list[NoteParts]:
    """Every note in a piece of code, as within a chord or a group of grace notes."""
    return [NoteParts(m[1] or "", m[2], m[3], m[4]) for m in _PARTS.finditer(code)]
