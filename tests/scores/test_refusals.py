"""Every bad input earns one sentence: what, where, what to do."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from earloop.scores import ScoreError, list_parts, load_line
from earloop.scores.formats import LARGEST

TUNE = "X:1\nT:Ferry\nM:none\nL:1/4\nK:G\nG A B c | d4 |\n"


def _refusal(path: Path, **choices: object) -> str:
    with pytest.raises(ScoreError) as caught:
        load_line(path, **choices)  # type: ignore[arg-type]
    sentence = caught.value.sentence
    assert "\n" not in sentence
    assert not sentence.endswith(".")
    assert len(sentence) < 400
    return sentence


@pytest.mark.parametrize(
    ("name", "content", "word"),
    [
        ("empty.abc", b"", "empty"),
        ("notes.txt", b"C D E", "not a score"),
        ("no-ending", b"C D E", "not a score"),
        ("junk.xml", bytes(range(256)) * 40, "binary"),
        ("junk.krn", bytes(range(256)) * 40, "binary"),
        ("junk.abc", b"\x00\x01\x02" * 100, "binary"),
        ("junk.mid", b"not midi at all", "not a MIDI file"),
        ("cut.mid", b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk\x00\x00\xff\xff\x00\x90", "cannot be read"),
        ("page.xml", b"<html><body>hello</body></html>", "not MusicXML"),
        ("cut.musicxml", b'<?xml version="1.0"?><score-partwise><part-list>', "cannot be read"),
        ("prose.abc", b"Dear ferryman, the boat leaves at noon.", "not an ABC tune"),
        ("prose.krn", b"Dear ferryman, the boat leaves at noon.\n", "ferry|read|notes|music"),
        ("silent.abc", b"X:1\nM:4/4\nL:1/4\nK:C\nz4 | z4 |]\n", "no notes"),
        ("fake.mxl", b"just text", "not a compressed MusicXML"),
        ("fake2.mxl", b"PK\x03\x04 truncated", "damaged"),
        ("broken.mei", b"<mei", "cannot be read"),
    ],
)
def test_a_bad_file_gets_one_sentence(tmp_path: Path, name: str, content: bytes, word: str) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    sentence = _refusal(path)
    assert any(part in sentence for part in word.split("|")), sentence


def test_missing_file_and_folder(tmp_path: Path) -> None:
    assert "no file" in _refusal(tmp_path / "gone.abc")
    assert "folder" in _refusal(tmp_path)


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.musicxml"
    with path.open("wb") as file:
        file.truncate(LARGEST + 1)
    assert "50 MB" in _refusal(path)


def test_a_compressed_file_that_grows_too_large_is_not_unpacked(tmp_path: Path) -> None:
    path = tmp_path / "bomb.mxl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive, archive.open("score.xml", "w") as inner:
        for _ in range(52):
            inner.write(b" " * 1024 * 1024)
    assert "50 MB" in _refusal(path)


def test_a_locked_archive_says_so(tmp_path: Path) -> None:
    """Bit 0 of a ZIP entry's general purpose flag: the entry is encrypted (PKWARE APPNOTE 4.4.4)."""
    path = tmp_path / "locked.mxl"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("score.xml", "<score-partwise/>")
    data = bytearray(path.read_bytes())
    data[6] |= 1
    directory = data.index(b"PK\x01\x02")
    data[directory + 8] |= 1
    path.write_bytes(data)
    assert "password" in _refusal(path)


def test_a_part_not_found_lists_the_parts(tmp_path: Path) -> None:
    path = tmp_path / "duet.abc"
    path.write_text('X:1\nM:4/4\nL:1/4\nK:C\nV:1 name="Oboe"\nV:2 name="Horn"\n[V:1] c4|\n[V:2] C4|\n')
    assert [(part.number, part.name, part.tones) for part in list_parts(path)] == [(1, "Oboe", 1), (2, "Horn", 1)]
    sentence = _refusal(path, part="harp")
    assert "1 Oboe, 2 Horn" in sentence
    assert load_line(path, part="horn")[0].pitch.name == "C4"
    assert load_line(path, part=2).part == "Horn"
    assert "first melodic" in load_line(path).notes[0]


def test_an_empty_measure_range_says_what_there_is(tmp_path: Path) -> None:
    path = tmp_path / "tune.abc"
    path.write_text(TUNE)
    assert "from 1 to 2" in _refusal(path, first_measure=7, last_measure=9)
    assert "range" in _refusal(path, first_measure=2, last_measure=1)
    assert [tone.pitch.name for tone in load_line(path, first_measure=2)] == ["D5"]


def test_a_tune_not_found_lists_the_tunes(tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    path.write_text(TUNE + "\n" + TUNE.replace("X:1", "X:2").replace("Ferry", "Pier"))
    assert "1 Ferry, 2 Pier" in _refusal(path, tune="lighthouse")
    assert load_line(path, tune="pier").title == "Pier"
    assert "2 tunes" in load_line(path).notes[0]
