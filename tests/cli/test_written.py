"""Files written by name: one rule for every command. Nothing that is there is lost unless --replace asks for it."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from earloop.cli.commands import main
from earloop.cli.refusal import Refusal
from earloop.cli.written import written
from earloop.journal import Journal
from earloop.journal.place import score_name
from tests.journal.test_journal import happening

ROOT = Path(__file__).parents[2]
PHRASE = ROOT / "phrases" / "07-two-rooks.musicxml"
WRITING = {
    "render to MIDI": ("render", "-o", "x.mid"),
    "render to WAV": ("render", "-o", "x.wav"),
    "render to MusicXML": ("render", "-o", "x.musicxml"),
    "give": ("give", "-o", "x.earloop.zip"),
    "export": ("log", "--export", "x.csv"),
    "hand back": ("log", "--hand-back", "x.json"),
}


@pytest.fixture
def score(tmp_path: Path) -> Path:
    path = Path(shutil.copy(PHRASE, tmp_path / "rooks.musicxml"))
    with Journal.open() as journal:
        journal.note(happening(0, score=score_name(path), title="Rooks"))
    return path


def words_of(what: str, score: Path, name: str = "") -> tuple[list[str], Path]:
    command, option, usual = WRITING[what]
    out = score.parent / (name or usual)
    extra = ["--tempo", "300"] if command == "render" else []
    return [command, str(score), *extra, option, str(out)], out


@pytest.mark.parametrize("what", WRITING)
def test_what_is_there_stays_unless_it_is_to_be_replaced(what: str, score: Path, capsys) -> None:
    words, out = words_of(what, score)
    out.write_text("my own", encoding="utf-8")
    assert main(words) == 2
    said = capsys.readouterr().err
    assert said == f"earloop: {out} is there already: choose another name, or add --replace to write over it\n"
    assert out.read_text(encoding="utf-8") == "my own"
    assert main([*words, "--replace"]) == 0
    replaced = out.read_bytes()
    assert replaced != b"my own"
    out.unlink()
    assert main(words) == 0, "a free name needs nothing"
    assert len(out.read_bytes()) == pytest.approx(len(replaced), abs=400)
    assert sorted(path.name for path in score.parent.iterdir() if "part" in path.name) == []


@pytest.mark.parametrize("what", WRITING)
def test_a_folder_that_is_not_there_and_one_in_the_way_are_said(what: str, score: Path, capsys) -> None:
    usual = WRITING[what][2]
    assert main(words_of(what, score, f"nowhere/{usual}")[0]) == 2
    assert "there is no folder" in capsys.readouterr().err
    words, out = words_of(what, score)
    out.mkdir()
    assert main([*words, "--replace"]) == 2
    assert "is a folder: name a file in it" in capsys.readouterr().err


def test_what_is_read_is_never_written_over(score: Path, capsys) -> None:
    before = score.read_bytes()
    assert main(["render", str(score), "-o", str(score), "--replace"]) == 2
    assert "is what is read" in capsys.readouterr().err
    link = score.with_name("same.musicxml")
    os.link(score, link)
    assert main(["render", str(score), "-o", str(link), "--replace"]) == 2
    assert score.read_bytes() == before


def half_done(path: Path, fault: Exception) -> None:
    path.write_text("half", encoding="utf-8")
    raise fault


def test_a_fault_on_the_way_leaves_the_old_file(tmp_path: Path) -> None:
    old = tmp_path / "x.txt"
    old.write_text("old", encoding="utf-8")
    with pytest.raises(ZeroDivisionError), written(old, True) as path:
        half_done(path, ZeroDivisionError())
    with pytest.raises(Refusal, match="can't be written"), written(old, True) as path:
        half_done(path, OSError(28, "No space left on device"))
    assert old.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [old]


def test_what_came_meanwhile_stays(tmp_path: Path) -> None:
    out = tmp_path / "x.txt"
    with pytest.raises(Refusal, match="there already"), written(out, False) as path:
        path.with_name("x.txt").write_text("another's", encoding="utf-8")
    assert out.read_text(encoding="utf-8") == "another's"


def test_a_link_leads_to_the_file_that_is_replaced(tmp_path: Path) -> None:
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_text("old", encoding="utf-8")
    link.symlink_to(real)
    with written(link, True) as path:
        path.write_text("new", encoding="utf-8")
    assert link.is_symlink()
    assert real.read_text(encoding="utf-8") == "new"
