"""Sentences on a terminal as wide as it is, and where there is none."""

from __future__ import annotations

import sys

import pytest
from rich.cells import cell_len

from earloop.cli.columns import aligned
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


def test_a_table_is_no_wider_than_its_terminal(monkeypatch, capsys) -> None:
    """The column that gives way is cut and the others stay; a program is given all of it."""
    rows = [("due", "score", "what"), ("2026-12-01", "A Very Long Name of a Tune 東京の歌", "link from tone 12 to 14")]
    monkeypatch.setattr(sys.stdout, "isatty", lambda: True)
    monkeypatch.setenv("COLUMNS", "60")
    cut = aligned(rows, gives_way=1)
    assert max(map(cell_len, cut)) <= 60
    assert all(rows[1][k] in cut[1] for k in (0, 2))
    assert "A Very Long Name" in cut[1]
    monkeypatch.setattr(sys.stdout, "isatty", lambda: False)
    assert all(cell in aligned(rows, gives_way=1)[1] for cell in rows[1])
