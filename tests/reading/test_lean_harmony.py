"""Leans against the other parts: the handbooks' suspensions and six-four, consonances that don't lean, and the laws."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from earloop.line import Line, Meter, OtherTone, Pitch
from earloop.line.pitch import pitch_from_name
from earloop.reading import Decisions, read
from earloop.reading.degrees import degrees_in
from earloop.reading.harmony_heard import harmony_heard
from earloop.reading.leans import find_leans, why_lean
from earloop.reading.record import Key, Lean
from tests.reading.test_leans import any_line, line_of, tones

COMMON = ((0.0, Meter(4, 4)),)


def over(words: str, chords: str) -> Line:
    """The line with chords under it: `C3+E4+G4/4 G2/2`, pitches and quarters."""
    at, others = 0.0, []
    for chord in chords.split():
        names, length = chord.split("/")
        others += [OtherTone(at, float(length), pitch_from_name(name)) for name in names.split("+") if name != "r"]
        at += float(length)
    return replace(line_of(words, COMMON), others=tuple(others))


def found(line: Line, lean: int) -> Lean | None:
    leans = {x.lean: x for x in read(line, Decisions(home=Key(0))).leans}
    return leans.get(lean)


def test_where_nothing_else_sounds_a_lean_is_that_of_a_line_alone() -> None:
    """Leapt to, long and slurred to its step while the others rest; *common practice, no source*."""
    words = "G4/2 E4/2 G4/1 D5/2( C5/1) G4/4 C5/4"
    heard, alone = over(words, "C3+E4/4 r/4 G2+B3/4 C3+E4/4"), line_of(words, COMMON)
    found_in, meant = found(heard, 3), found(alone, 3)
    assert meant is not None
    assert found_in is not None
    assert (found_in.release, found_in.sure) == (meant.release, meant.sure)
    assert found(over(words, "C3+E4/4 C3+E4+G4/4 G2+B3/4 C3+E4/4"), 3) != meant


SUSPENSIONS = [
    (
        "4-3 over the dominant",
        "G4/2 C5/4 B4/2 C5/4",
        "E3+G3/4 G2+D4/4 C3+E4/4",
        1,
        "dissonant with the bass that moves",
    ),
    (
        "7-6 over a falling bass",
        "G4/2 C5/4 B4/2 C5/4",
        "E3+C4/4 D3+F4/4 C3+E4/4",
        1,
        "dissonant with the bass that moves",
    ),
    ("9-8 over the tonic", "G4/2 D5/4 C5/2 G4/4", "G2+B3/4 C3+E4/4 C3+E4/4", 1, "dissonant with the bass that moves"),
]
"""Common suspensions, prepared on the weak half and held over (Aldwell & Schachter, *Harmony and Voice Leading*)."""


@pytest.mark.parametrize(("name", "words", "chords", "lean", "reason"), SUSPENSIONS)
def test_a_suspension_leans_and_says_against_what(name: str, words: str, chords: str, lean: int, reason: str) -> None:
    line = over(words, chords)
    reading = read(line, Decisions(home=Key(0)))
    own = found(line, lean)
    assert own is not None, name
    assert reason in why_lean(reading, own)
    assert "held over from before" in why_lean(reading, own)


def test_the_same_step_out_of_the_triad_that_sounds_is_less_of_a_lean() -> None:
    """A tone of its chord doesn't lean (the records' own rules; Aldwell & Schachter on chordal tones)."""
    words = "G4/2 E4/2 C5/2 B4/2 G4/4"
    leans, rests = over(words, "C3+G3/4 G2+D4+F4/4 C3+E4/4"), over(words, "C3+G3/4 C3+E4+G4/2 G2+D4/2 C3+E4/4")
    dissonant, consonant = found(leans, 2), found(rests, 2)
    assert dissonant is not None
    assert consonant is None or consonant.sure < dissonant.sure - 0.2


def test_the_cadential_six_four_leans() -> None:
    """Sixth and fourth over the dominant's bass step to its fifth and third (Aldwell & Schachter)."""
    line = over("G4/2 C5/2 E5/2 D5/2 C5/4", "C3+E4/2 F3+A4/2 G3+C5/2 G3+B4/2 C3+G4/4")
    lean = found(line, 2)
    assert lean is not None
    assert "six-four" in why_lean(read(line, Decisions(home=Key(0))), lean)


def test_an_appoggiatura_is_dissonant_with_the_bass_that_sounds() -> None:
    """Leapt to, on the beat, a seventh over the tonic's bass (Aldwell & Schachter)."""
    line = over("G4/2 E5/2 B4/2 C5/2 G4/4", "C3+E4+G4/4 C3+E4+G4/4 C3/4")
    lean = found(line, 2)
    assert lean is not None
    assert "dissonant with the bass" in why_lean(read(line, Decisions(home=Key(0))), lean)


def test_bass_at_the_end_is_the_lowest_that_lasts() -> None:
    heard = harmony_heard(over("C5/4", "C3+G3/2 A2+E3/2"))
    assert heard is not None
    assert (heard.bass.tolist(), heard.bass_at_end.tolist()) == ([48], [45])


others = st.lists(
    st.tuples(st.floats(-2, 30), st.sampled_from([0.1, 0.5, 1.0, 4.0]), st.integers(7, 40), st.integers(-1, 1)),
    min_size=1,
    max_size=40,
)


@settings(max_examples=60, deadline=None)
@given(tones, others, st.sampled_from([(1, 2), (2, 3), (3, 5), (-1, -1)]), st.booleans())
def test_transposed_with_its_parts_it_has_the_same_leans(
    rows: list, parts: list, move: tuple[int, int], metered: bool
) -> None:
    """Law 1, and law 3: whatever sounds with the line."""
    added = tuple(OtherTone(onset, length, Pitch(at % 7, alter, at // 7)) for onset, length, at, alter in parts)
    line = replace(any_line(rows), others=added, meters=COMMON if metered else ())
    degrees = degrees_in(line.columns, Key(0))
    voices = ("single",) * len(line)
    first = find_leans(line, degrees, degrees, voices)  # type: ignore[arg-type]
    assert first == find_leans(line.transposed(*move), degrees, degrees, voices)  # type: ignore[arg-type]
    assert all(0 <= lean.sure <= 1 for lean in first)
