"""What is decided is kept, whole, beside the score; and carried over when the score changes."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings

from earloop.line import Line, Span
from earloop.reading import Decisions, Key
from earloop.scores import ScoreError
from earloop.scores.carried import carried_over
from earloop.scores.kept_form import parse
from earloop.scores.kept_reading import KeptReading
from earloop.scores.kept_writing import new_document, written
from tests.killed_programs import killed_while_deciding, moments_up_to
from tests.laws.test_reading_laws import decided_lines
from tests.made_lines import line_of

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4", "1 .5 .5 1 1 2 1 .5 .5 1 1 2")
DECIDED = Decisions(
    levels={2: 4},
    voices={3: "upper", 4: "lower"},
    decorates={1: 2},
    phrase_ends={5: True, 7: False},
    home=Key(0, "major"),
    local=((Span(3, 6), Key(2, "minor")),),
    leans={4: 5, 6: None},
    links={(1, 4): True, (2, 3): False},
    bridges={4: True},
    words={0: "far bell"},
)


def kept(folder: Path, line: Line = LINE) -> KeptReading:
    return KeptReading(folder / "tune.abc", line, folder / "data")


@settings(max_examples=40)
@given(decided_lines())
def test_what_is_written_is_what_is_read(case) -> None:
    line, decided = case
    text = written(new_document("any"), decided, line)
    assert parse(text, "any").decided == decided


def test_decisions_come_back_and_the_score_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "tune.abc").write_text("X:1\nK:C\nCDEF|\n")
    first = kept(tmp_path)
    first.save(DECIDED)
    first.close()
    assert kept(tmp_path).decided == DECIDED
    assert (tmp_path / "tune.abc").read_text() == "X:1\nK:C\nCDEF|\n"


def test_late_triplets_of_a_long_score_are_the_same_tones_again(tmp_path: Path) -> None:
    """Onsets above a thousand quarters keep their thirds: opened again, the score hasn't changed."""
    long = line_of("C4 D4 E4 F4 G4 A4 B4 C5 " * 450, 1 / 3)
    assert long[-1].onset > 1000
    first = kept(tmp_path, long)
    first.save(Decisions(levels={3590: 4}))
    first.close()
    second = kept(tmp_path, long)
    assert second.decided == Decisions(levels={3590: 4})
    assert second.notes == []
    assert not list(tmp_path.glob("*.before*"))


def test_nothing_decided_leaves_no_file(tmp_path: Path) -> None:
    kept(tmp_path).save(Decisions())
    assert not list(tmp_path.glob("*.toml"))


def test_comments_and_unknown_fields_stay(tmp_path: Path) -> None:
    first = kept(tmp_path)
    first.save(DECIDED)
    first.close()
    text = first.path.read_text().replace("level = 4", 'level = 4 # my teacher says\ncolour = "amber"')
    first.path.write_text("# lesson of May\n" + text)
    second = kept(tmp_path)
    second.save(Decisions(**{**{n: getattr(DECIDED, n) for n in Decisions.__slots__}, "levels": {2: 3}}))
    told = second.path.read_text()
    assert "# lesson of May" in told
    assert 'colour = "amber"' in told
    assert "my teacher says" in told
    assert "level = 3" in told


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("format = 1\n[[tone]\n", "line 2"),
        ("home = 'C major'\n", "no format"),
        ("format = 9\n", "format 9"),
        ("format = 1\n\n[[tone]]\nlevel = 2\n", "line 3: this tone lacks number"),
        ("format = 1\n[[tone]]\nnumber = 1\nlevel = 12\n", "line 4: level = 12"),
        ("format = 1\n[[tone]]\nnumber = 1\n[[tone]]\nnumber = 2\nline = 'top'\n", "line 6: line = 'top'"),
        ("format = 1\nhome = 'H major'\n", "line 2: 'H major' is not a key"),
        ("format = 1\n[tone]\nnumber = 1\n", "two brackets"),
        ("format = 1\n[[link]]\nfirst = 1\n", "line 2: this link lacks second"),
        ("format = 1\n[[tone]]\nnumber = true\n", "line 3: number"),
    ],
)
def test_a_bad_file_gets_a_sentence_with_its_line_and_is_left_alone(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "tune.abc.earloop.toml"
    path.write_text(text)
    with pytest.raises(ScoreError, match=said.replace("[", r"\[")):
        kept(tmp_path)
    assert path.read_text() == text


def test_the_second_program_is_told_and_overwrites_nothing(tmp_path: Path) -> None:
    first = kept(tmp_path)
    first.save(DECIDED)
    second = kept(tmp_path)
    assert "open in another earloop" in second.notes[0]
    assert second.decided == DECIDED
    second.save(Decisions(levels={0: 1}))
    assert parse(first.path.read_text(), "x").decided == DECIDED
    assert parse(second.path.read_text(), "x").decided == Decisions(levels={0: 1})


def test_a_file_changed_by_hand_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    first = kept(tmp_path)
    first.save(DECIDED)
    path = first.path
    path.write_text(path.read_text() + "# changed in an editor\n")
    told = first.save(Decisions(levels={0: 1}))
    assert "changed by someone else" in told
    assert "# changed in an editor" in path.read_text()
    assert first.path != path


def test_where_the_folder_cannot_be_written_the_data_folder_keeps_it(tmp_path: Path, monkeypatch) -> None:
    folder = tmp_path / "locked"
    folder.mkdir()
    # Root may write anywhere, so the system's own answer is stood in for.
    real = os.access
    monkeypatch.setattr(os, "access", lambda p, mode: Path(p) != folder and real(p, mode))
    one = KeptReading(folder / "tune.abc", LINE, tmp_path / "data")
    assert "can't be written" in one.notes[0]
    one.save(DECIDED)
    one.close()
    assert not list(folder.iterdir())
    assert KeptReading(folder / "tune.abc", LINE, tmp_path / "data").decided == DECIDED


def test_a_transposed_copy_takes_its_decisions_and_keys_along() -> None:
    moved, lost = carried_over(DECIDED, LINE, LINE.transposed(1, 2))
    assert lost.count == 0
    assert moved.home == Key(2, "major")
    assert moved.local == ((Span(3, 6), Key(4, "minor")),)
    assert moved.levels == DECIDED.levels


def test_after_a_change_of_score_what_is_lost_is_listed_and_the_old_file_stays(tmp_path: Path) -> None:
    first = kept(tmp_path)
    first.save(DECIDED)
    first.close()
    second = kept(tmp_path, LINE.cut(Span(0, 5)))
    assert second.decided.levels == {2: 4}
    assert {item.tone: item.second for item in second.decided.unplaced if item.what == "leans_to"} == {6: None}
    assert any("X puts them" in note for note in second.notes)
    before = next(tmp_path.glob("*.before1.earloop.toml"))
    assert parse(before.read_text(), "x").decided == DECIDED


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork: Linux or macOS")
def test_killed_at_any_moment_nothing_that_was_decided_is_lost(tmp_path: Path) -> None:
    """200 kills: each leaves a whole file, with every decision that had been reported (no 100 ms of grace needed)."""
    moments = moments_up_to(0.05, 200, seed=20)
    for file, rows in killed_while_deciding(KeptReading, "save", 0.0005, tmp_path, moments):
        if rows:
            assert int(parse(file.read_text(), "left").decided.words[0]) >= rows[-1][1]
        elif file.exists():
            parse(file.read_text(), "left")
