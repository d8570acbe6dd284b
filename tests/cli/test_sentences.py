"""Sentences on a terminal as wide as it is, and where there is none."""

from __future__ import annotations

import sys

import pytest

from earloop.cli.sentences import say

SENTENCE = (
    "You hear the phrase, then the first tone, then the second tone, then the third tone, well-tuned. Answer with a."
)


@pytest.mark.parametrize("columns", [20, 40, 80])
def test_a_terminal_gets_whole_words_in_its_width(columns: int, monkeypatch, capsys) -> None:
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", str(columns))
    say(f"\n{SENTENCE}\n")
    lines = capsys.readouterr().out.split("\n")
    assert max(map(len, lines)) <= columns
    assert [word for line in lines for word in line.split()] == SENTENCE.split()
    assert (lines[0], lines[-2]) == ("", "")


def test_elsewhere_a_sentence_is_a_line(capsys) -> None:
    say(SENTENCE)
    assert capsys.readouterr().out == f"{SENTENCE}\n"
