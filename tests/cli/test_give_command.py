"""`earloop give`: a score and a reading as one file, and every command that takes a score takes that file."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from earloop.cli.commands import main
from earloop.scores.package import read_package

ROOT = Path(__file__).parents[2]
PHRASE = ROOT / "phrases" / "07-two-rooks.musicxml"
MINE = 'format = 1\n[[tone]]\nnumber = 5\nlevel = 5 # as in the lesson\nword = "far bell"\n'


@pytest.fixture
def score(tmp_path: Path) -> Path:
    path = Path(shutil.copy(PHRASE, tmp_path / "rooks.musicxml"))
    path.with_name(path.name + ".earloop.toml").write_text(MINE, encoding="utf-8")
    return path


def test_given_read_and_compared(score: Path, capsys) -> None:
    assert main(["give", str(score)]) == 0
    package = score.with_name("rooks.earloop.zip")
    assert str(package) in capsys.readouterr().out
    assert read_package(package).score == PHRASE.read_bytes()
    assert "# as in the lesson" in read_package(package).reading
    assert main(["read", str(package), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["tones"][4]["level"] == 5
    assert main(["compare", str(score), str(package)]) == 0
    assert "They are the same." in capsys.readouterr().out
    assert main(["compare", str(package), "proposal", "--json"]) == 0
    assert any(d["mine"] == "far bell" for d in json.loads(capsys.readouterr().out)["differences"])


def test_it_is_never_written_over(score: Path, capsys) -> None:
    assert main(["give", str(score), "-o", str(score.with_name("x.earloop.zip"))]) == 0
    assert main(["give", str(score), "-o", str(score.with_name("x.earloop.zip"))]) == 2
    assert "is there already" in capsys.readouterr().err
    assert main(["give", str(score), "-o", str(score.with_name("x.zip"))]) == 2
    assert "should end in .earloop.zip" in capsys.readouterr().err


def test_what_was_received_can_be_given_on(score: Path, capsys) -> None:
    main(["give", str(score)])
    package = score.with_name("rooks.earloop.zip")
    assert main(["give", str(package), "-o", str(score.with_name("on.earloop.zip"))]) == 0
    assert "far bell" in read_package(score.with_name("on.earloop.zip")).reading


def test_what_was_decided_is_what_is_read_and_rendered(score: Path, tmp_path: Path, capsys) -> None:
    """With --proposal it is as if nothing had been decided."""
    assert main(["read", str(score), "--json"]) == 0
    mine = json.loads(capsys.readouterr().out)
    assert main(["read", str(score), "--json", "--proposal"]) == 0
    proposed = json.loads(capsys.readouterr().out)
    assert mine["tones"][4]["level"] == 5
    assert proposed["tones"][4]["level"] != 5
    out = tmp_path / "rooks-read.musicxml"
    assert main(["render", str(score), "--layer", "ornamented", "-o", str(out)]) == 0
    assert "far bell" in out.read_text(encoding="utf-8")


@pytest.mark.parametrize("content", [b"", b"no archive at all"])
def test_a_bad_package_gets_one_sentence(tmp_path: Path, capsys, content: bytes) -> None:
    path = tmp_path / "bad.earloop.zip"
    path.write_bytes(content)
    assert main(["read", str(path)]) == 2
    err = capsys.readouterr().err
    assert "damaged" in err
    assert len(err.splitlines()) == 1
