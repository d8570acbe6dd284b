"""What stands after `earloop:` is said one way: it begins small, but for a name, and has no stop at its end."""

from __future__ import annotations

import ast
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pexpect
import pytest

from earloop.cli.commands import main

SOURCE = Path(__file__).parents[2] / "earloop"
REFUSALS = {
    "Refusal",
    "ScoreError",
    "OutputError",
    "SourceError",
    "JournalError",
    "TakeError",
    "KeepError",
    "ValueError",
}
NAMES = {"A4", "FLAC", "MIDI"}


def sentences() -> Iterator[tuple[str, str]]:
    """Where a refusal is made, and its words, with … for what is put in."""
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in REFUSALS and node.args:
                said = node.args[0]
                parts = said.values if isinstance(said, ast.JoinedStr) else [said]
                words = "".join(str(part.value) if isinstance(part, ast.Constant) else "…" for part in parts)
                yield f"{path.relative_to(SOURCE)}:{node.lineno}", words


def test_every_refusal_begins_small_and_is_one_sentence_without_a_stop() -> None:
    found = list(sentences())
    assert len(found) > 100
    assert [
        (where, words)
        for where, words in found
        if (words[0].isupper() and words.split()[0] not in NAMES) or words.endswith(".") or ". " in words
    ] == []


@pytest.mark.parametrize(
    "words",
    [
        ["read", "nowhere.abc"],
        ["read", "phrases"],
        ["compare", "nowhere.abc", "proposal"],
        ["check", "nowhere.abc", "--layer", "upper", "--take", "x.wav"],
        ["play", "phrases/01-the-gate-at-dawn.abc", "--layer", "uppper"],
        ["read", "README.md"],
        ["students", "nowhere"],
        ["give", "nowhere.abc"],
    ],
)
def test_what_is_printed_is_one_such_sentence(words: list[str], capsys, monkeypatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "README.md").write_text("no score")
    (tmp_path / "phrases").mkdir()
    try:
        code = main(words)
    except SystemExit as ended:
        code = ended.code
    told = capsys.readouterr().err
    assert code == 2
    assert told.startswith("earloop: ")
    assert told.count("\n") == 1
    assert not told.endswith(".\n")


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_score_that_the_screen_refuses_is_said_in_the_same_way(tmp_path: Path) -> None:
    """Its sentence stands in the terminal that is left."""
    for name, content in (("folder.abc", None), ("prose.abc", "Dear ferryman, the boat leaves at noon.")):
        path = tmp_path / name
        path.mkdir() if content is None else path.write_text(content)
        child = pexpect.spawn(
            sys.executable, ["-m", "earloop", str(path)], encoding="utf-8", env={**os.environ, "TERM": "xterm"}
        )
        child.expect(pexpect.EOF, timeout=60)
        child.close()
        assert child.exitstatus == 2
        assert f"earloop: {path if content is None else path.name}" in (child.before or "")
