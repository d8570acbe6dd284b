"""`earloop log`: the journal as table, CSV and JSON; taking it out; wiping it."""

from __future__ import annotations

import csv
import io
import json
from datetime import timedelta
from pathlib import Path

import pytest

from earloop.cli.commands import main
from earloop.journal import Journal
from earloop.journal.place import score_name
from earloop.journal.written import from_object
from tests.journal.test_journal import NOON, happening


@pytest.fixture
def noted(journal_file: Path, tmp_path: Path) -> Path:
    """A score with three entries, and one on another."""
    score = tmp_path / "tune.abc"
    score.write_text("X:1\nK:C\nCDE|\n", encoding="utf-8")
    name = score_name(score)
    with Journal.open() as journal:
        journal.note(happening(0, score=name, title="Tune", detail={"passes": 3, "tempo": 80}, seconds=90))
        journal.note(happening(1, score=name, title="Tune", kind="sung", result=0.75, phrase=1))
        journal.note(happening(2, score="library:other.abc", title="=SUM(A1:A9)", detail={"a": [1, "ü"]}))
        journal.note(happening(3 * 24 * 60, score=name, title="Tune", kind="answered", what="which_line"))
    return score


def said(capsys) -> str:
    return capsys.readouterr().out


def test_a_table_by_default(noted, capsys) -> None:
    assert main(["log", str(noted)]) == 0
    rows = said(capsys).splitlines()
    assert rows[0].split() == ["when", "score", "phrase", "what", "right", "passes", "tempo", "minutes"]
    assert rows[1].split()[-5:] == ["upper", "3", "80", "%", "1.5"]
    assert "sang upper" in rows[2]
    assert "75 %" in rows[2]
    assert rows[-1] == "3 entries, 2 minutes on 2 days"


def test_by_day_and_phrase(noted, capsys) -> None:
    day = (NOON + timedelta(days=2)).date().isoformat()
    assert main(["log", "--since", day]) == 0
    assert "answered which line" in said(capsys)
    assert main(["log", "--phrase", "2", "--json"]) == 0
    (one,) = json.loads(said(capsys))
    assert one["phrase"] == 1


def test_csv_is_read_back_by_a_csv_reader(noted, capsys) -> None:
    """RFC 4180, read by Python's own reader; text that a table program would calculate stays text."""
    assert main(["log", "--csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(said(capsys))))
    assert [row["phrase"] for row in rows] == ["1", "2", "1", "1"]
    assert rows[2]["title"] == "'=SUM(A1:A9)"
    assert json.loads(rows[2]["detail"]) == {"a": [1, "ü"]}


@pytest.mark.parametrize("ending", [".json", ".jsonl"])
def test_export_holds_everything_and_overwrites_nothing(noted, tmp_path, capsys, ending) -> None:
    out = tmp_path / f"mine{ending}"
    assert main(["log", "--export", str(out)]) == 0
    text = out.read_text(encoding="utf-8")
    rows = json.loads(text) if ending == ".json" else [json.loads(line) for line in text.splitlines()]
    with Journal.open() as journal:
        assert [from_object(row) for row in rows] == journal.happenings()
    assert main(["log", "--export", str(out)]) == 2
    assert out.read_text(encoding="utf-8") == text
    assert main(["log", "--export", str(tmp_path / "mine.doc")]) == 2


def test_wiping_needs_a_word(noted, capsys, monkeypatch) -> None:
    """Without a terminal it needs --yes; in one it needs the word; with a score it is not meant."""
    assert main(["log", "--wipe"]) == 2
    assert main(["log", str(noted), "--wipe", "--yes"]) == 2
    monkeypatch.setattr("sys.stdin.isatty", lambda: True)
    monkeypatch.setattr("builtins.input", lambda _: "no")
    assert main(["log", "--wipe"]) == 0
    with Journal.open() as journal:
        assert len(journal.happenings()) == 4
    monkeypatch.setattr("builtins.input", lambda _: " Wipe ")
    assert main(["log", "--wipe"]) == 0
    assert "4 entries" in said(capsys)
    assert main(["log"]) == 0
    assert "Nothing is noted yet" in said(capsys)


def test_recordings_that_stay_are_told(noted, capsys, monkeypatch, tmp_path) -> None:
    """Wiping the journal says where they are; they are the player's own to delete."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert main(["log", "--wipe", "--yes"]) == 0
    assert "recordings" not in said(capsys)
    take = tmp_path / "earloop" / "takes" / "one.flac"
    take.parent.mkdir(parents=True)
    take.touch()
    assert main(["log", "--wipe", "--yes"]) == 0
    assert str(take.parent) in said(capsys)
    assert take.exists()


def test_looking_makes_no_journal(journal_file, capsys) -> None:
    assert main(["log"]) == 0
    assert main(["log", "--wipe", "--yes"]) == 0
    assert not journal_file.exists()


def test_a_moved_score_keeps_its_past(noted, tmp_path, capsys) -> None:
    """Found again by its file name where nothing else is called so; a name nobody knows is refused."""
    folder = tmp_path / "elsewhere"
    folder.mkdir()
    assert main(["log", str(noted.rename(folder / noted.name))]) == 0
    told = capsys.readouterr()
    assert "3 entries" in told.out
    assert "nothing is noted of" in told.err
    assert main(["log", "other.abc"]) == 0
    assert "1 entry" in said(capsys)
    assert main(["log", str(tmp_path / "nowhere.abc")]) == 2


@pytest.mark.parametrize("known", [False, True], ids=["no journal", "a journal"])
@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("letter.abc", "Dear Tove, it rained again.", "letter.abc"),
        ("noise.mid", "\x00\x01 no notes", "is not a MIDI file"),
        ("list.txt", "milk, bread", "is not a score that can be read here"),
        ("broken.musicxml", "<score-partwise><part>", "broken.musicxml"),
        ("nowhere.abc", None, "here is no file"),
    ],
)
def test_of_what_is_no_score_it_says_why(tmp_path, capsys, request, known, name, content, says) -> None:
    """A file nothing is noted of is looked at; one that was practised is not, whatever has become of it."""
    if known:
        request.getfixturevalue("noted")
    path = tmp_path / name
    if content is not None:
        path.write_text(content, encoding="utf-8")
    for words in ([], ["--json"], ["--hand-back", str(tmp_path / "back.json")]):
        assert main(["log", str(path), *words]) == 2
        told = capsys.readouterr()
        assert says in told.err
        assert told.err.count("\n") == 1
        assert not told.out


def test_a_score_not_yet_practised_and_one_that_was_spoilt(noted, tmp_path, capsys) -> None:
    fresh = tmp_path / "fresh.abc"
    fresh.write_text("X:1\nK:C\nCDE|\n", encoding="utf-8")
    assert main(["log", str(fresh)]) == 0
    assert "Nothing is noted yet" in said(capsys)
    noted.write_text("no tune any more", encoding="utf-8")
    assert main(["log", str(noted)]) == 0
    assert "3 entries" in said(capsys)


def test_bad_words_get_one_sentence(noted, capsys) -> None:
    for words in (["--since", "tuesday"], ["--phrase", "0"]):
        assert main(["log", *words]) == 2
        told = capsys.readouterr().err
        assert told.count("\n") == 1
        assert "Traceback" not in told
