"""Repeats, endings and leaps are played out on request (common practice, no source), from any format."""

from __future__ import annotations

from pathlib import Path

import pytest

from earloop.scores import load_line
from earloop.scores.bars import Bar
from earloop.scores.repeats import LONGEST, unfolded


@pytest.mark.parametrize(
    ("body", "played"),
    [
        ("A4 | B4 :| c4 |]", "ABABc"),
        ("A4 |: B4 | c4 :| d4 |]", "ABCBCD"),
        ("|: A4 | B4 :: c4 | d4 :|", "ABABCDCD"),
        ("|: A4 |1 B4 :|2 c4 |] d4 |", "ABACD"),
        ("|: A4 |1 B4 | c4 :|2 d4 | e4 || f4 |]", "ABCADEF"),
        ("|: A4 |[1,3 B4 :|[2 c4 :|] d4 |]", "ABACABD"),
        ("|: A4 |1 B4 :|2 c4 :|: d4 |1 e4 :|2 f4 |]", "ABACDEDF"),
        ("A4 | !fine!B4 | c4 !D.C.alfine! |]", "ABCAB"),
        ("A4 | !segno!B4 | c4 | !fine!d4 | e4 !D.S.alfine! |]", "ABCDEBCD"),
        ("A4 | !dacoda!B4 | c4 !D.S.alcoda! | !coda!d4 |]", "ABCABD"),
        ("|::A4::| B4 |]", "AAAB"),
    ],
)
def test_playing_order(tmp_path: Path, body: str, played: str) -> None:
    path = tmp_path / "tune.abc"
    path.write_text(f"X:1\nM:4/4\nL:1/4\nK:C\n{body}\n")
    line = load_line(path, unfold_repeats=True)
    assert "".join(tone.pitch.letter for tone in line) == played.upper()
    assert [tone.onset for tone in line] == [4.0 * i for i in range(len(played))]
    assert any("played out" in note for note in line.notes)


def test_without_unfolding_the_page_is_read_once(tmp_path: Path) -> None:
    path = tmp_path / "tune.abc"
    path.write_text("X:1\nM:4/4\nL:1/4\nK:C\n|: A4 |1 B4 :|2 c4 |]\n")
    line = load_line(path)
    assert "".join(tone.pitch.letter for tone in line) == "ABC"
    assert any("read once" in note for note in line.notes)


@pytest.mark.parametrize("name", ["ashover"])
def test_music21_unfolds_the_same(name: str, tmp_path: Path) -> None:
    """An independent expander: MusicXML with endings, through music21's own expandRepeats."""
    from music21 import bar, note, spanner, stream

    part = stream.Part()
    for number in range(1, 7):
        part.append(stream.Measure([note.Note(59 + number, quarterLength=4)], number=number))
    measures = list(part.getElementsByClass("Measure"))
    measures[0].leftBarline = bar.Repeat(direction="start")
    measures[3].rightBarline = bar.Repeat(direction="end")
    part.insert(0, spanner.RepeatBracket(measures[2:4], number=1))
    part.insert(0, spanner.RepeatBracket(measures[4], number=2))
    path = part.write("musicxml", fp=tmp_path / "endings.musicxml")
    truth = [n.pitch.midi for n in part.expandRepeats().recurse().notes]
    assert [tone.midi for tone in load_line(path, unfold_repeats=True)] == truth


def test_broken_signs_end() -> None:
    """Signs that contradict each other still give a finite page that holds bars of the page only."""
    bars = [Bar(number=str(i), repeat_end=9, repeat_start=i % 2 == 0, endings=(i % 3,)) for i in range(60)]
    assert len(unfolded(bars)) <= LONGEST + len(bars)
    assert unfolded([Bar(leap="dal segno al coda")]) != []
    assert unfolded([]) == []
