"""The phrase library: every score is what its card and its hand reading say."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from hand_records import ROOT, Record, cards, library

from earloop.reading import read
from earloop.reading.degrees import degrees_in

RECORDS = list(library())


@pytest.fixture(params=RECORDS, ids=lambda record: record.name)
def record(request: pytest.FixtureRequest) -> Record:
    return request.param


def test_tones_of_score_and_record_agree(record: Record) -> None:
    """Spelled sounding pitches of the file, grace notes and all, are the record's row."""
    assert [tone.pitch.name for tone in record.line.tones] == record.tones
    assert len(record.tones) == record.card["reading"]["tones"]


def test_degrees_by_hand_agree_with_the_key(record: Record) -> None:
    """The hand-written degrees are those of the hand-chosen key, by letters and semitones."""
    assert [str(degree) for degree in degrees_in(record.line.columns, record.key)] == record.degrees


def test_card_says_title_source_and_licence(record: Record) -> None:
    card = record.card
    assert card["title"] == record.line.title
    assert card["source"] == "composed for earloop"
    assert card["licence"] in ("CC BY 4.0", "CC0")
    assert 1 <= card["grade"] <= 5
    assert card["hear"].endswith(".")


def test_each_phrase_has_a_pillar_and_leans_go_by_step(record: Record) -> None:
    for span in record.phrases:
        assert "X" in record.skeleton[span.first : span.last + 1]
    for lean, release in record.leans:
        assert abs(record.line[lean].pitch.height - record.line[release].pitch.height) == 1
        assert record.voices[lean] == record.voices[release]


def test_chains_and_motives_lie_in_the_line_they_name(record: Record) -> None:
    reading = record.card["reading"]
    for chain in reading.get("chains", []):
        heights = [record.line[i].pitch.height for i in chain["tones"]]
        size = 1 if chain["name"].endswith("step") else 2
        way = size if chain["name"].startswith("rising") else -size
        assert all(b - a == way for a, b in pairwise(heights))
        assert {record.voices[i] for i in chain["tones"]} == {chain["line"]}
    for motive in reading.get("motives", []):
        assert 0 <= motive["first"] <= motive["last"] < len(record.line)


def test_library_holds_what_it_promises() -> None:
    """Both formats, a transposing instrument, minor, two and three lines, free rhythm, every grade."""
    formats = {Path(record.card["score"]).suffix for record in RECORDS}
    assert len(RECORDS) >= 14
    assert formats == {".abc", ".musicxml"}
    assert any(tone.written for record in RECORDS for tone in record.line.tones)
    assert any(record.key.mode == "minor" for record in RECORDS)
    assert {frozenset(record.voices) for record in RECORDS} >= {
        frozenset({"single"}),
        frozenset({"upper", "lower"}),
        frozenset({"upper", "middle", "lower"}),
    }
    assert any(record.line.meter is None for record in RECORDS)
    assert {record.card["grade"] for record in RECORDS} == {1, 2, 3, 4, 5}
    assert {path.stem for path in cards()} == {
        path.stem for path in (ROOT / "phrases").iterdir() if path.suffix in formats
    }


def test_any_phrase_can_be_read(record: Record) -> None:
    reading = read(record.line)
    assert len(reading.degrees) == len(record.line)
