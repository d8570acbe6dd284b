"""A screen's own keys at its foot, in lines: each is to be pressed or clicked."""

from __future__ import annotations

from collections.abc import Iterable

from rich.style import Style
from rich.text import Text

from earloop.screen.signs import Signs

KeyTold = tuple[str, str, str]
"""How the key is written, what it does, the action of a click on it. A key without words shares those of the next."""


def keys_text(lines: Iterable[Iterable[KeyTold]], signs: Signs, no_wrap: bool = True) -> Text:
    """The keys in these lines, which are cut where the window is too narrow, or broken without `no_wrap`."""
    text = Text(no_wrap=True, overflow="crop") if no_wrap else Text()
    for number, line in enumerate(lines):
        text.append("\n" if number else "")
        for written, words, action in line:
            pressed = Style(meta={"@click": f"screen.{action}"}) if action else Style()
            text.append(signs.words(written), style=pressed + Style(bold=True))
            text.append(f" {words}  " if words else " ", style=pressed)
    return text
