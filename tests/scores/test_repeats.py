"""Repeats, endings and leaps are played out on request (common practice, no source), from any format."""

from __future__ import annotations

from pathlib import Path
from typing import Any

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


def _part(count: int) -> tuple[Any, list[Any]]:
    """A music21 part of whole notes B3, C4, C#4 … and its measures."""
    from music21 import note, stream

    part = stream.Part()
    for number in range(1, count + 1):
        part.append(stream.Measure([note.Note(58 + number, quarterLength=4)], number=number))
    return part, list(part.getElementsByClass("Measure"))


def _same_as_music21(part: Any, folder: Path) -> None:
    path = part.write("musicxml", fp=folder / "page.musicxml")
    truth = [n.pitch.midi for n in part.expandRepeats().recurse().notes]
    assert [tone.midi for tone in load_line(path, unfold_repeats=True)] == truth
    assert len(truth) > len(load_line(path))


def test_music21_plays_endings_in_the_same_order(tmp_path: Path) -> None:
    """An independent expander, on MusicXML: a first ending of two bars."""
    from music21 import bar, spanner

    part, measures = _part(6)
    measures[0].leftBarline = bar.Repeat(direction="start")
    measures[3].rightBarline = bar.Repeat(direction="end")
    part.insert(0, spanner.RepeatBracket(measures[2:4], number=1))
    part.insert(0, spanner.RepeatBracket(measures[4], number=2))
    _same_as_music21(part, tmp_path)


@pytest.mark.parametrize("leap", ["DaCapoAlFine", "DalSegnoAlFine", "DaCapo"])
def test_music21_leaps_the_same_way(leap: str, tmp_path: Path) -> None:
    """An independent expander, on MusicXML: back to the beginning or the sign."""
    from music21 import repeat

    part, measures = _part(5)
    if "Segno" in leap:
        measures[1].insert(0, repeat.Segno())
    if "Fine" in leap:
        measures[2].insert(4, repeat.Fine())
    measures[4].insert(4, getattr(repeat, leap)())
    _same_as_music21(part, tmp_path)


def test_broken_signs_end() -> None:
    """Signs that contradict each other still give a finite page that holds bars of the page only."""
    bars = [Bar(number=str(i), repeat_end=9, repeat_start=i % 2 == 0, endings=(i % 3,)) for i in range(60)]
    assert len(unfolded(bars)) <= LONGEST + len(bars)
    assert unfolded([Bar(leap="dal segno al coda")]) != []
    assert unfolded([]) == []
