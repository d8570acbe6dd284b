"""`ask` and `sing` sit on the score that `read`, `log` and `plan` know: its reading, its name in the journal."""

from __future__ import annotations

import io
import json
import shutil
from pathlib import Path

import pytest

from earloop.cli.commands import main
from earloop.cli.sittings import session_of
from earloop.cli.words import parser
from earloop.session.choices import Choices
from tests.session.fake_player import FakePlayer

PHRASE = Path(__file__).parents[2] / "phrases" / "07-two-rooks.musicxml"


@pytest.fixture
def score(tmp_path: Path) -> Path:
    """A score of which tone 5 was decided to be a pillar."""
    path = Path(shutil.copy(PHRASE, tmp_path / "rooks.musicxml"))
    path.with_name(path.name + ".earloop.toml").write_text(
        "format = 1\n[[tone]]\nnumber = 5\nlevel = 5\n", encoding="utf-8"
    )
    return path


@pytest.mark.parametrize("proposal", [(), ("--proposal",)])
def test_sing_takes_the_reading_that_read_prints(score: Path, proposal: tuple[str, ...], capsys) -> None:
    assert main(["read", str(score), "--json", *proposal]) == 0
    levels = [tone["level"] for tone in json.loads(capsys.readouterr().out)["tones"]]
    session = session_of(parser().parse_args(["sing", str(score), *proposal]), FakePlayer(), Choices())
    assert list(session.reading.weights.level) == levels
    assert (levels[4] == 5) == (not proposal)


def test_what_is_asked_of_a_package_is_found_by_log(score: Path, monkeypatch, capsys) -> None:
    """By the package and by the copy that was unpacked from it alike."""
    assert main(["give", str(score)]) == 0
    package = str(score.with_name("rooks.earloop.zip"))
    monkeypatch.setattr("sys.stdin", io.StringIO("x\n\n"))
    words = ["--out", "none", "--tempo", "300", "--kind", "which_line", "--count", "1", "--phrase", "1"]
    assert main(["ask", package, *words]) == 0
    capsys.readouterr()
    assert main(["log", package, "--json"]) == 0
    (noted,) = json.loads(capsys.readouterr().out)
    assert (noted["kind"], noted["what"]) == ("answered", "which_line")
    assert Path(noted["score"]).is_file()
    assert Path(noted["score"]).read_bytes() == score.read_bytes()
