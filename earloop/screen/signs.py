"""Every special sign the screen draws, with its plain-ASCII stand-in.

♯ ♭ ● ─ are of ambiguous width in some terminals: the ASCII set is for those, and for fonts that lack them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from earloop.session.choices import DegreeNames


_NAMED = re.compile(r"\b([A-G])(#+|b+)(?![a-z])")
"""A letter with an accidental, such as the start of `F#4` or `Bb minor`."""
_DEGREE = re.compile(r"(?<![\w#])([#b]+)(?=[1-7]\b)")
"""The accidental of an altered degree, such as the start of `b3`."""


@dataclass(frozen=True, slots=True)
class Signs:
    """One set of signs, a single cell wide each; only the arrows and `more`, written among words, may take more."""

    sharp: str = "♯"
    flat: str = "♭"
    sustain: str = "─"
    loop: str = "━"
    playing: str = "▼"
    cursor: str = "▽"
    mark: str = "◇"
    pillar: str = "◆"
    carries: str = "●"
    prolongs: str = "┄"
    link: str = "─"
    lean: str = "═"
    release: str = "▸"
    bridge: str = "↷"
    phrase: str = "│"
    gesture: str = "┊"
    decided: str = "*"
    differs: str = "≠"
    in_tune: str = "━"
    off_high: str = "'"
    off_middle: str = "·"
    off_low: str = "."
    dot: str = "·"
    left: str = "←"
    right: str = "→"
    up: str = "↑"
    down: str = "↓"
    rule: str = "─"
    plays: str = "▶"
    silent: str = "■"
    more: str = "…"

    def accidentals(self, text: str) -> str:
        """`#` and `b` of plain text as this set's signs."""
        return text.replace("#", self.sharp).replace("b", self.flat)

    def pitch(self, name: str) -> str:
        """`Bb3` or `F#` with this set's signs; the letter stays."""
        return name[:1] + self.accidentals(name[1:])

    def sentence(self, text: str) -> str:
        """A reader's sentence, its pitch and key names with this set's signs."""
        return _NAMED.sub(lambda found: found[1] + self.accidentals(found[2]), text)

    def told(self, text: str) -> str:
        """A sentence, its altered degrees too with this set's signs."""
        return _DEGREE.sub(lambda found: self.accidentals(found[1]), self.sentence(text))

    def degree(self, text: str, names: DegreeNames) -> str:
        """A degree's name with this set's signs; syllables have none."""
        if names == "numbers":
            return self.accidentals(text)
        return self.pitch(text) if names == "notes" else text

    def degrees(self, texts: Iterable[str], names: DegreeNames) -> tuple[str, ...]:
        """All of them; of thousands few are different."""
        texts = tuple(texts)
        signed = {text: self.degree(text, names) for text in frozenset(texts)}
        return tuple([signed[text] for text in texts])

    def key(self, name: str) -> str:
        """`Bb minor` with this set's signs."""
        tonic, _, mode = name.partition(" ")
        return f"{self.pitch(tonic)} {mode}"

    def words(self, text: str) -> str:
        """Text of the key table with arrows in this set's signs (`<-` and the like stay in ASCII)."""
        for field in fields(self):
            if field.name in ("left", "right", "up", "down"):
                text = text.replace("{" + field.name + "}", getattr(self, field.name))
        return text


DRAWN = Signs()
PLAIN = Signs(
    sharp="#",
    flat="b",
    sustain="-",
    loop="=",
    playing="v",
    cursor="^",
    mark="m",
    pillar="O",
    carries="o",
    prolongs=".",
    link="-",
    lean="=",
    release=">",
    bridge="~",
    phrase="|",
    gesture=":",
    decided="*",
    differs="!",
    in_tune="=",
    off_high="'",
    off_middle="+",
    off_low=".",
    dot="-",
    left="<-",
    right="->",
    up="up",
    down="down",
    rule="-",
    plays=">",
    silent="#",
    more="..",
)


def signs(ascii_only: bool) -> Signs:
    """The set to draw with."""
    return PLAIN if ascii_only else DRAWN
