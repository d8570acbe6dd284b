"""The reading in sentences: speakable, of any score, and with every kind of decision in it."""

from __future__ import annotations

import re

import pytest
from hand_records import CORPUS
from hypothesis import given

from earloop.cli.describing import as_sentences, counted, spoken_degree, spoken_key
from earloop.line import Span
from earloop.reading import Decisions, Key, read
from earloop.scores import load_line
from tests.laws.test_reading_laws import decided_lines
from tests.made_lines import line_of

UNSPEAKABLE = re.compile(r"[#*|=_<>{}\[\]~^\t]|\b[A-G]b|\bb[1-7]|\d-\d")
"""Signs a voice would spell out or swallow, flats written as a letter, degrees joined by a stroke."""
SENTENCE = re.compile(r"[A-Z0-9].*\.$")
KINDS = {
    "levels": ({1: 4}, "tone 2, F sharp 4, sounds down to depth 4"),
    "voices": ({1: "lower"}, "tone 2, F sharp 4, is of the lower line"),
    "decorates": ({1: 0}, "decorates tone 1"),
    "phrase_ends": ({1: True}, "ends a phrase"),
    "gesture_ends": ({1: False}, "does not end a gesture"),
    "home": (Key(-2), "The home key is B flat major, decided by hand"),
    "local": (((Span(1, 2), Key(3, "minor")),), "tones 2 to 3 are heard in A minor"),
    "leans": ({1: 3}, "leans and releases to tone 4"),
    "links": ({(0, 2): True}, "tones 1 and 3 are linked"),
    "bridges": ({2: True}, "has a bridge before it"),
    "words": ({1: "far bell"}, "stands the word far bell"),
}


def test_a_score_of_the_corpus_is_told_in_speakable_sentences() -> None:
    """Haydn, op. 74 no. 1, the first violin's opening: its title is the file's own, all else is spoken."""
    line = load_line(CORPUS / "haydn" / "opus74no1" / "movement1.mxl", part=1, first_measure=1, last_measure=24)
    told = list(as_sentences(read(line)))
    assert all(SENTENCE.match(sentence) for sentence in told[1:])
    assert not any(UNSPEAKABLE.search(sentence) for sentence in told[1:])
    assert any(sentence.startswith("Phrase 2 has") and "measure" in sentence for sentence in told)


@given(decided_lines())
def test_any_line_and_any_decisions_can_be_spoken(case) -> None:
    line, decided = case
    told = list(as_sentences(read(line, decided), decided))
    for sentence in told:
        assert SENTENCE.match(sentence)
        assert not UNSPEAKABLE.search(sentence.replace("down-bow", "bow")), sentence


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_decision_is_told(kind) -> None:
    """Told where it was made, and not where it was not."""
    line = line_of("E4 F#4 G4 A4 B4 C5 B4 A4 G4", "1 1 2 1 1 2 1 1 4")
    value, said = KINDS[kind]
    decided = Decisions(**{kind: value})
    assert said in " ".join(as_sentences(read(line, decided), decided))
    assert said not in " ".join(as_sentences(read(line)))


def test_every_field_of_the_decisions_is_among_them() -> None:
    assert set(Decisions.__slots__) == {*KINDS, "unplaced"}


def test_words_for_numbers_keys_and_degrees() -> None:
    assert [counted(1, "tone"), counted(3, "phrase"), counted(2000, "tone")] == [
        "one tone",
        "three phrases",
        "2,000 tones",
    ]
    assert [spoken_key("F# minor"), spoken_key("Bb major")] == ["F sharp minor", "B flat major"]
    assert [spoken_degree("#4"), spoken_degree("bb7"), spoken_degree("5")] == ["sharp 4", "double flat 7", "5"]
    assert spoken_degree("###4") == "sharp sharp sharp 4", "no sign is lost"
