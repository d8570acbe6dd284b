"""A student's log handed back, and several of them side by side."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.cli.commands import main
from earloop.coaching.beside import names_of, side_by_side
from earloop.journal import Happening, Journal, JournalError
from earloop.journal.handed_back import HandedBack, handed_back, read_handed_back
from earloop.journal.place import score_name
from tests.journal.test_journal import happenings

DAY = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)


def sung(day: int, share: float, phrase: int = 0, **detail) -> Happening:
    at = DAY + timedelta(days=day)
    return Happening(at, "rooks.abc", "Rooks", phrase, "sung", "upper", "layer:upper", share, 120.0, detail)


@pytest.fixture
def score(tmp_path: Path, journal_file: Path) -> Path:
    """A score with two phrases practised, in a folder whose name is nobody's business."""
    folder = tmp_path / "my private folder"
    folder.mkdir()
    path = folder / "rooks.abc"
    path.write_text("X:1\nK:C\nCDE|\n", encoding="utf-8")
    with Journal.open() as journal:
        for day, phrase in ((0, 0), (1, 0), (1, 1)):
            at = DAY + timedelta(days=day)
            journal.note(Happening(at, score_name(path), "Rooks", phrase, "sung", "upper", "layer:upper", 0.5, 60.0))
    return path


def test_a_phrase_is_handed_back_without_its_folder(score, tmp_path, capsys) -> None:
    """The name as it was typed, the phrase that was asked for, the score's name alone; nothing is written over."""
    out = tmp_path / "mia.jsonl"
    words = ["log", str(score), "--phrase", "1", "--hand-back", str(out), "--name", "Mia  Ö."]
    assert main(words) == 0
    text = out.read_text(encoding="utf-8")
    assert "private" not in text
    log = read_handed_back(out)
    assert (log.student, log.score, log.title, log.phrase) == ("Mia Ö.", "rooks.abc", "Rooks", 0)
    assert [h.at.day for h in log.happenings] == [1, 2]
    assert main(words) == 2
    assert out.read_text(encoding="utf-8") == text


def test_without_a_score_or_anything_noted_there_is_nothing_to_hand_back(score, tmp_path, capsys) -> None:
    assert main(["log", "--hand-back", str(tmp_path / "x")]) == 2
    assert main(["log", str(score), "--phrase", "9", "--hand-back", str(tmp_path / "x")]) == 2
    assert not (tmp_path / "x").exists()
    assert capsys.readouterr().err.count("\n") == 2


@given(st.lists(happenings, max_size=6), st.text(st.characters(exclude_categories=("Cs",)), max_size=12))
def test_a_log_survives_the_way_to_the_teacher(tmp_path_factory, noted, student) -> None:
    """All entries, in order of time; only the score is shortened to its name."""
    path = tmp_path_factory.mktemp("log") / "log.jsonl"
    path.write_text("".join(handed_back(HandedBack(student, "/a/b.abc", "B", None, tuple(noted)))), encoding="utf-8")
    log = read_handed_back(path)
    assert log.student == student
    assert log.score == "b.abc"

    def but_score(h: Happening):
        return (h.at, h.title, h.phrase, h.kind, h.what, h.item, h.result, h.seconds, h.detail)

    ordered = sorted(noted, key=lambda h: h.at)
    assert [but_score(h) for h in log.happenings] == [but_score(h) for h in ordered]


def test_students_stand_side_by_side(tmp_path, capsys) -> None:
    """A column each, in the order of the files; who did not practise a phrase has nothing there."""
    logs = {
        "Mia": [sung(0, 0.5, degrees={"2": [1, 2]}), sung(3, 1.0, links={"2-4": [0, 1]})],
        "Jon": [sung(1, 0.25, degrees={"2": [2, 2], "#4": [0, 1]}), sung(1, 0.5, phrase=1)],
    }
    files = []
    for name, own in logs.items():
        files.append(tmp_path / f"{name}.jsonl")
        files[-1].write_text("".join(handed_back(HandedBack(name, "rooks.abc", "Rooks", None, tuple(own)))))
    assert main(["students", *map(str, files)]) == 0
    rows = [row.split() for row in capsys.readouterr().out.splitlines()]
    assert rows[0] == ["Rooks", "(rooks.abc),", "phrase", "1"]
    assert ["Mia", "Jon"] in rows
    assert ["minutes", "4", "2"] in rows
    assert ["right:", "upper", "75", "%", "25", "%"] in rows
    assert ["degree", "2", "50", "%", "100", "%"] in rows
    assert ["degree", "#4", "0", "%"] in rows
    assert ["shaky", "links", "3-5"] in rows
    assert main(["students", *map(str, files), "--json"]) == 0
    first, second = json.loads(capsys.readouterr().out)
    assert [one["student"] for one in first["students"]] == ["Mia", "Jon"]
    assert [one["minutes"] for one in second["students"]] == [0, 2]


def test_many_students_go_below_one_another(tmp_path, capsys) -> None:
    """Nobody is lost, and no line grows without end."""
    files = []
    for number in range(14):
        files.append(tmp_path / f"{number}.jsonl")
        log = HandedBack(f"student {number}", "rooks.abc", "Rooks", 0, (sung(0, 0.5),))
        files[-1].write_text("".join(handed_back(log)))
    assert main(["students", *map(str, files)]) == 0
    told = capsys.readouterr().out
    assert all(f"student {number}" in told for number in range(14))
    assert max(map(len, told.splitlines())) <= 100


def test_two_of_one_name_are_told_apart_by_their_files() -> None:
    logs = [HandedBack(name, "s", "S", 0, (), file) for name, file in (("A", "1"), ("A", "2"), ("", "3"), ("B", "4"))]
    assert names_of(logs) == ["A (1)", "A (2)", "3", "B"]
    assert len(side_by_side(logs)[0].students) == 4


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("{}\n", "line 1: it is no log"),
        ('{"earloop": "practice", "schema": 9}\n', "schema is 9"),
        ('{"earloop": "practice", "schema": 1, "phrase": "one"}\n', "phrase"),
        ('{"earloop": "practice", "schema": 1}\nnonsense\n', "line 2"),
        ('{"earloop": "practice", "schema": 1}\n\n{"at": "yesterday"}\n', "line 3"),
        ('{"earloop": "practice", "schema": 1}\n' + "[" * 100_000, "line 2"),
        ("\x00\x01", "line 1, is no log that was handed back: ask for it again"),
        ("X:1\nK:C\nCDE|\n", "line 1, is no log that was handed back: ask for it again"),
    ],
)
def test_a_spoilt_log_is_refused_with_file_and_line(tmp_path, capsys, text, told) -> None:
    path = tmp_path / "spoilt.jsonl"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JournalError, match=told):
        read_handed_back(path)
    assert main(["students", str(path)]) == 2
    said = capsys.readouterr().err
    assert "spoilt.jsonl" in said
    assert said.count("\n") == 1


def test_files_that_cannot_be_read(tmp_path, capsys) -> None:
    (tmp_path / "bytes").write_bytes(b"\xff\xfe\x00")
    for name in ("missing", "bytes", "."):
        assert main(["students", str(tmp_path / name)]) == 2
    assert capsys.readouterr().err.count("\n") == 3


PHRASES = Path(__file__).resolve().parents[2] / "phrases"


def test_from_teacher_to_student_and_back(tmp_path, journal_file, capsys) -> None:
    """Score, reading and plan in one file; the student's plan is that one; the student's log comes back."""
    package = tmp_path / "rooks.earloop.zip"
    score = str(PHRASES / "07-two-rooks.musicxml")
    assert main(["give", score, "--plan", "--phrase", "2", "--minutes", "9", "--name", "Mx B", "-o", str(package)]) == 0
    assert "a plan for phrase 2" in capsys.readouterr().out
    assert main(["plan", str(package), "--json"]) == 0
    plan = json.loads(capsys.readouterr().out)
    assert (plan["phrase"], plan["minutes"], plan["source"]) == (1, 9, "Mx B")
    assert main(["plan", str(package), "--phrase", "1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["source"] == ""

    from earloop.cli.journal_in import name_of
    from earloop.cli.words import parser

    with Journal.open() as journal:
        name = name_of(parser().parse_args(["log", str(package)]))
        journal.note(Happening(DAY, name, "Two Rooks", 1, "sung", "upper", "layer:upper", 0.5, 60.0))
    back = tmp_path / "mia.jsonl"
    assert main(["log", str(package), "--phrase", "2", "--hand-back", str(back), "--name", "Mia"]) == 0
    assert str(tmp_path) not in back.read_text(encoding="utf-8")
    assert read_handed_back(back).score == "07-two-rooks.musicxml"
    assert main(["students", str(back)]) == 0
    assert "Mia" in capsys.readouterr().out


@pytest.mark.parametrize("words", [["--phrase", "9"], ["--minutes", "0"], ["--phrase", "0"]])
def test_a_plan_out_of_reach_gives_nothing_away(tmp_path, capsys, words) -> None:
    out = tmp_path / "x.earloop.zip"
    assert main(["give", str(PHRASES / "07-two-rooks.musicxml"), "--plan", *words, "-o", str(out)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not out.exists()
