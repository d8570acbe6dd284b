"""Help: every key by what it is for, the signs of the picture, and the cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from typing import ClassVar

from rich.style import Style
from rich.text import Text
from textual.binding import Binding, BindingType
from textual.widget import Widget

from earloop.screen.cautions import CAUTIONS
from earloop.screen.keys import GROUPS, Key
from earloop.screen.long_text import LongText
from earloop.screen.panels.panel import Panel
from earloop.screen.signs import Signs

KEYS_WIDE = 12
"""Cells before the words."""
ROOM = 60
"""Cells the words of a row may take, so that it fits into 80."""


class Help(Panel[str]):
    """Scrolls; q or ? leads back. A click on a key's line dismisses it with the key's id: the stand then presses it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("question_mark,f1", "dismiss(None)", "back", show=False)]
    keys_line = "{up} {down} scroll  pagedown further  q back"

    def __init__(self, signs: Signs) -> None:
        super().__init__("All keys")
        self.signs = signs

    def body(self) -> Iterable[Widget]:
        yield LongText(lines_of_help(self.signs))

    def on_mount(self) -> None:
        self.query_one(LongText).focus()


def help_text(signs: Signs) -> Text:
    """The whole text of help."""
    return Text("\n").join(lines_of_help(signs))


@cache
def lines_of_help(signs: Signs) -> tuple[Text, ...]:
    """Its lines, each not yet broken."""
    return tuple(line for part in _parts_of_help(signs) for line in part.split("\n", allow_blank=True))


def _parts_of_help(signs: Signs) -> list[Text]:
    """A part for each group of keys, one for the signs, one for all else."""
    parts = []
    for group, keys in GROUPS.items():
        text = Text()
        text.append(group, style="bold")
        for row in rows_of(keys):
            _write_row(text, row, signs)
        parts.append(text)
    text = Text()
    text.append("Signs of the picture", style="bold")
    for sign, meaning in legend(signs):
        text.append(f"\n  {sign:<9} ", style="bold")
        text.append(meaning)
    parts.append(text)
    text = Text()
    text.append("Mouse", style="bold")
    text.append("\n  a click puts the cursor on a tone; the wheel scrolls")
    text.append("\n  every key can be clicked: in the line at the foot, here, and at the foot of a panel\n")
    text.append("Before you go on", style="bold")
    for caution in CAUTIONS:
        text.append(f"\n  {caution}")
    return [*parts, text]


def rows_of(keys: Sequence[Key]) -> list[list[tuple[Key, str]]]:
    """The keys of a group with their words, in rows: neighbours with one `short` share a row as long as there is room.

    Words with which the one before begins too are not said again.
    """
    rows: list[list[tuple[Key, str]]] = []
    for before, key in zip((None, *keys), keys, strict=False):
        said = key.words if before is None else _without_beginning(key.words, before.words)
        if before is not None and before.short == key.short and _long(rows[-1]) + len(said) + 2 <= ROOM:
            rows[-1].append((key, said))
        else:
            rows.append([(key, key.words)])
    return rows


def _long(row: list[tuple[Key, str]]) -> int:
    return sum(len(said) + 2 for _, said in row) - 2


def _without_beginning(words: str, before: str) -> str:
    own, others = words.split(), before.split()
    same = next((k for k, pair in enumerate(zip(own, others, strict=False)) if pair[0] != pair[1]), 0)
    return " ".join(own[same:])


def _write_row(text: Text, row: list[tuple[Key, str]], signs: Signs) -> None:
    """Each key and its words can be clicked."""
    pressed = [Style(meta={"@click": f"screen.dismiss({key.id!r})"}) for key, _ in row]
    text.append("\n")
    start = len(text)
    text.append("  ")
    for (key, _), style in zip(row, pressed, strict=True):
        text.append(signs.words(key.written) + " ", style=style + Style(bold=True))
    text.append(" " * (KEYS_WIDE - (len(text) - start)))
    for place, ((_, said), style) in enumerate(zip(row, pressed, strict=True)):
        text.append("; " if place else "")
        text.append(said, style=style)


def legend(signs: Signs) -> list[tuple[str, str]]:
    """Each sign of the picture with its meaning."""
    return [
        (signs.playing, "the tone that sounds"),
        (signs.cursor, "the cursor"),
        (signs.loop * 3, "what is looped"),
        (signs.mark, "a marked tone"),
        (f"B4{signs.sustain * 3}", "a tone, and how long it sounds in this layer"),
        (f"{signs.carries}3", "a tone of the skeleton, with its degree"),
        (f"{signs.pillar}1", "a pillar: it sounds in the barest skeleton"),
        (signs.prolongs * 3, "the tone stays in force while others decorate it"),
        (f"3{signs.link * 2}4", "a link: two tones of a line that belong together"),
        (f"2{signs.lean * 2}{signs.release}1", "a lean and its release"),
        (f"{signs.bridge}4", "a bridge: the line's last tone once more before this one"),
        (signs.phrase, "a phrase ends"),
        (signs.gesture, "a gesture ends"),
        (signs.decided, "decided by hand (all else is proposed)"),
        (signs.differs, "two readings differ here (C compares them)"),
    ]
