"""What the asking screen says, as text: what is heard, and the answers with their keys."""

from __future__ import annotations

from collections.abc import Sequence

from rich.style import Style
from rich.text import Text

from earloop.coaching.question import Answer, Part, Question
from earloop.screen.signs import Signs

SHORT = 6
"""Cells of an answer that may stand beside others in one row."""


def heading(title: str, question: Question, asked: int, count: int, signs: Signs) -> str:
    """`Ask the ear · Two Rooks · phrase 1 · question 3 of 8`."""
    parts = ("Ask the ear", title, f"phrase {question.phrase + 1}", f"question {asked} of {count}")
    return f" {signs.dot} ".join(filter(None, parts))


def heard(parts: Sequence[Part], sounding: int | None, signs: Signs) -> Text:
    """What there is to hear, in order, with a sign before what is heard now."""
    text = Text("You hear: ")
    for place, part in enumerate(parts):
        now = place == sounding
        text.append("; then " if place else "")
        text.append(f"{signs.plays} " if now else "")
        text.append(signs.told(part.words), style="bold reverse" if now else "")
    return text


def answers(offered: Sequence[Answer], signs: Signs, given: int | None = None, right: int | None = None) -> Text:
    """Each answer with its key, to be pressed or clicked: short ones in a row, others a line each.

    Once answered, `given` and `right` are told in words beside the long ones; for others the sentence does.
    """
    in_row = all(len(answer.words) <= SHORT for answer in offered)
    text = Text()
    for place, answer in enumerate(offered):
        if place:
            text.append("    " if in_row else "\n")
        press = Style(meta={"@click": f"screen.answer({answer.key!r})"})
        text.append(f"{answer.key}", style=press + Style(bold=True))
        if answer.words != answer.key or not in_row:
            text.append(f"  {signs.told(answer.words)}", style=press)
        if right is not None and not in_row:
            marks = [words for words, at in (("yours", given), ("right", right)) if at == place]
            text.append(f"   {signs.left if marks else ''} {' and '.join(marks)}" if marks else "", style="bold")
    return text
