"""`earloop compare`: figures and differences of two readings, from kept files and other editions."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from earloop.cli.commands import main

ROOT = Path(__file__).parents[2]
PHRASE = ROOT / "phrases" / "07-two-rooks.musicxml"
TEACHER = 'format = 1\n[[tone]]\nnumber = 5\nlevel = 5\nword = "far bell"\n[[tone]]\nnumber = 9\nphrase_ends = true\n'


@pytest.fixture(autouse=True)
def _own_data_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def score(tmp_path: Path) -> Path:
    return Path(shutil.copy(PHRASE, tmp_path / "rooks.musicxml"))


@pytest.fixture
def teacher(tmp_path: Path) -> Path:
    path = tmp_path / "lesson.earloop.toml"
    path.write_text(TEACHER, encoding="utf-8")
    return path


def test_figures_and_differences_are_printed(score: Path, teacher: Path, capsys) -> None:
    assert main(["compare", str(score), str(teacher)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Two Rooks: your reading and lesson.earloop.toml")
    assert "lines              25 of 25  100 %" in out
    assert 'Tone 5 (B3): you write none over it, the other writes "far bell" over it.' in out


def test_the_same_in_json(score: Path, teacher: Path, capsys) -> None:
    assert main(["compare", str(score), str(teacher), "--json", "--depth", "5"]) == 0
    told = json.loads(capsys.readouterr().out)
    word = next(d for d in told["differences"] if d["kind"] == "word")
    assert (word["first"], word["mine"], word["other"]) == (4, "", "far bell")
    assert told["agreement"][0]["name"] == "skeleton, depth 5"


def test_what_i_kept_is_my_side(score: Path, capsys) -> None:
    """Against the proposal the sides are turned round; nothing is written."""
    kept = score.with_name(score.name + ".earloop.toml")
    kept.write_text(TEACHER, encoding="utf-8")
    before = sorted(score.parent.iterdir())
    assert main(["compare", str(score), "proposal"]) == 0
    assert 'you write "far bell" over it, the other writes none' in capsys.readouterr().out
    assert kept.read_text(encoding="utf-8") == TEACHER
    assert sorted(score.parent.iterdir()) == before


def test_the_same_reading_is_said_to_be_the_same(score: Path, capsys) -> None:
    assert main(["compare", str(score), "proposal"]) == 0
    assert "They are the same." in capsys.readouterr().out


def test_an_edition_without_decisions_stands_for_the_proposal(score: Path, tmp_path: Path, capsys) -> None:
    """It is said whose reading is compared, since nobody decided anything about that edition."""
    other = tmp_path / "edition.musicxml"
    other.write_bytes(score.read_bytes())
    assert main(["compare", str(score), str(other)]) == 0
    assert "nothing is decided about edition.musicxml: here stands what earloop proposes" in capsys.readouterr().out


def test_a_reading_of_a_transposed_copy_is_brought_over(tmp_path: Path, capsys) -> None:
    """The copy is a fourth higher, for another instrument; its decisions meet the same tones, its key moves back."""
    bars = (
        "G A B c | d c B A | B d g f | e d c B | A G F A | c B A G |]",
        "c d e f | g f e d | e g c' _b | a g f e | d c B d | f e d c |]",
    )
    mine, copy = tmp_path / "mine.abc", tmp_path / "copy.abc"
    for path, key, tune in ((mine, "G", bars[0]), (copy, "C", bars[1])):
        path.write_text(f"X:1\nT:Quay\nM:4/4\nL:1/4\nK:{key}\n{tune}\n", encoding="utf-8")
    copy.with_name("copy.abc.earloop.toml").write_text(
        'format = 1\nhome = "C minor"\n[[tone]]\nnumber = 12\nlevel = 5\n', encoding="utf-8"
    )
    assert main(["compare", str(mine), str(copy), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert "another edition" in told["note"]
    assert told["lost"] == 0
    home = next(d for d in told["differences"] if d["kind"] == "home")
    assert (home["mine"], home["other"]) == ("G major", "G minor")
    level = next(d for d in told["differences"] if d["kind"] == "level" and d["first"] == 11)
    assert level["other"] == 5


@pytest.mark.parametrize("decided", [True, False])
def test_the_reading_of_another_piece_is_refused(score: Path, tmp_path: Path, capsys, decided: bool) -> None:
    """Else both would be the proposal, and agree in all."""
    other = Path(shutil.copy(ROOT / "phrases" / "16-the-lighthouse.musicxml", tmp_path / "lighthouse.musicxml"))
    if decided:
        other.with_name(other.name + ".earloop.toml").write_text(TEACHER, encoding="utf-8")
    assert main(["compare", str(score), str(other)]) == 2
    told = capsys.readouterr()
    assert told.err.count("\n") == 1
    assert "the tones of lighthouse.musicxml are not those of Two Rooks" in told.err
    assert told.out == ""


def test_kept_decisions_about_another_piece_are_refused(score: Path, tmp_path: Path, capsys) -> None:
    """Their own tones stand in the file."""
    path = tmp_path / "other.earloop.toml"
    tones = '[line]\npitches = "C4 C4 C4 E4 E4 E4 G4 G4"\ntimes = "0+1 1+1 2+1 3+1 4+1 5+1 6+1 7+1"\n'
    path.write_text(TEACHER.replace("format = 1\n", f"format = 1\n{tones}"), encoding="utf-8")
    assert main(["compare", str(score), str(path)]) == 2
    assert "not those of Two Rooks" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "said"),
    [(None, "no file"), ("format = 9\n", "format 9"), ("format = 1\n[[tone]]\nlevel = 1\n", "line 2")],
)
def test_a_bad_other_side_gets_one_sentence(score: Path, tmp_path: Path, capsys, text: str | None, said: str) -> None:
    path = tmp_path / "bad.earloop.toml"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    assert main(["compare", str(score), str(path)]) == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.splitlines()) == 1
