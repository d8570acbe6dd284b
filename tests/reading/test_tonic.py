"""The home key: invariance, evidence from signatures, spelling of the tonic, and the sentence that says why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from earloop.line import Line, Span, Tone
from earloop.line.pitch import pitch_from_midi, pitch_from_name
from earloop.reading.decisions import Decisions
from earloop.reading.record import Key
from earloop.reading.tonic import find_tonic, why_tonic
from earloop.reading.tonic_evidence import CUES, evidence
from earloop.reading.tonic_signature import signature_scores

CHROMATIC = {0: (0, 0), 1: (0, 1), 2: (1, 2), 3: (2, 3), 4: (2, 4), 5: (3, 5), 6: (3, 6), 7: (4, 7), 8: (5, 8)}
tones = st.lists(st.tuples(st.integers(40, 80), st.sampled_from([0.0, 0.25, 0.5, 1.0, 3.0])), min_size=1, max_size=40)


def line_of(pairs: list[tuple[int, float]], **more: object) -> Line:
    onset, made = 0.0, []
    for midi, length in pairs:
        made.append(Tone(onset, length, pitch_from_midi(midi), grace=length == 0))
        onset += length
    return Line(tuple(made), **more)  # type: ignore[arg-type]


def named(names: str, **more: object) -> Line:
    made = [Tone(float(i), 1.0, pitch_from_name(name)) for i, name in enumerate(names.split())]
    return Line(tuple(made), **more)  # type: ignore[arg-type]


@given(tones, st.integers(0, 8), st.booleans())
def test_transposing_then_reading_is_reading_then_transposing(pairs, up, signed):
    """Law 1, to the last bit: margin, certainty and mode stay; tonic and ranking move along."""
    line = replace(line_of(pairs), fifths=2 if signed else None)
    steps, semitones = CHROMATIC[up]
    before, after = find_tonic(line), find_tonic(line.transposed(steps, semitones))
    assert after.ranked == tuple((pc + semitones) % 12 for pc in before.ranked)
    assert (after.margin, after.sure, after.key.mode) == (before.margin, before.sure, before.key.mode)
    moved = pitch_from_name("C4").moved(steps, semitones).fifths
    assert after.key.fifths == before.key.fifths + moved


@given(tones, st.floats(0.01, 100.0))
def test_any_line_gets_a_tonic_and_tempo_has_no_say(pairs, factor):
    line = line_of(pairs)
    found = find_tonic(line)
    assert sorted(found.ranked) == list(range(12))
    assert 0.0 <= found.margin <= found.sure <= 1.0
    assert found.key.pc == found.ranked[0]
    slower = replace(
        line, tones=tuple(replace(t, onset=t.onset * factor, length=t.length * factor) for t in line.tones)
    )
    np.testing.assert_allclose(find_tonic(slower).sure, found.sure, rtol=1e-6)


def test_a_decided_home_stands():
    found = find_tonic(named("C4 E4 G4 C5"), Decisions(home=Key(6, "minor")))
    assert (found.key, found.margin, found.sure) == (Key(6, "minor"), 1.0, 1.0)


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        ("C4 D4 E4 F4 G4 E4 C4 D4 B3 C4", Key(0, "major")),
        ("A4 B4 C5 D5 E5 F#5 G#5 A5 G5 F5 E5 D5 C5 B4 A4", Key(3, "minor")),
        ("D4 A4 G4 F4 E4 D4 C4 D4 F4 G4 A4 B4 A4 G4 F4 E4 D4", Key(2, "minor")),
        ("G4 B4 D5 F5 D5 B4 G4 A4 F4 G4 D5 B4 A4 G4", Key(1, "major")),
        ("F#4 C#5 A#4 B4 G#4 A#4 F#4 E#4 F#4", Key(6, "major")),
        ("Gb4 Db5 Bb4 Cb5 Ab4 Bb4 Gb4 F4 Gb4", Key(-6, "major")),
    ],
)
def test_modes_are_named_by_their_third_and_the_tonic_as_it_is_spelled(names, expected):
    """Major, minor with raised 6 and 7, Dorian (minor), Mixolydian (major), and two spellings of one sound."""
    assert find_tonic(named(names)).key == expected


def test_home_need_not_be_the_last_tone():
    """A tune that hangs on its fifth, as an antecedent phrase does (any handbook's half close)."""
    found = find_tonic(named("G4 C5 C5 D5 E5 C5 E5 F5 G5 E5 C5 D5 E5 D5 C5 B4 C5 E5 D5 G4"))
    assert found.key == Key(0, "major")


def test_guessed_letters_give_the_tonic_fewest_accidentals():
    """MIDI keys of A flat major: spelled one by one they look like G sharp, the key is A flat."""
    keys = [68, 70, 72, 73, 75, 77, 75, 72, 68, 70, 67, 68]
    found = find_tonic(line_of([(key, 1.0) for key in keys], spelled=False))
    assert found.key == Key(-4, "major")


def test_a_signature_decides_where_the_tones_leave_it_open():
    """Between a key and its relative minor a signature says nothing, but it moves the choice among other keys."""
    line = named("D5 E5 D5 E5 D5")
    for fifths in (1, 2):
        found = find_tonic(replace(line, fifths=fifths))
        assert (found.key.signature - fifths) % 12 in (0, 11, 1)
    c_major = named("C4 D4 E4 F4 G4 E4 C4 D4 B3 C4 G4 F4 E4 D4 C4", fifths=5)
    assert find_tonic(c_major).key == Key(0, "major"), "a wrong signature does not outshout a clear line"


@pytest.mark.parametrize("size", [1, 12, 80, 5000])
@pytest.mark.parametrize(
    ("mode", "tonic"), [("major", 0), ("minor", 9), ("dorian", 2), ("mixolydian", 7), ("phrygian", 4), ("lydian", 5)]
)
def test_a_stated_mode_names_its_own_final_best(mode, tonic, size):
    """No sharps or flats: C Ionian, A Aeolian, D Dorian, G Mixolydian, E Phrygian, F Lydian (any handbook)."""
    scores = signature_scores(0, mode, 60, size)
    assert int(scores.max(axis=0).argmax()) == tonic


def test_stated_minor_leaves_room_for_modes_with_a_minor_third():
    """Without sharps or flats Dorian D and Phrygian E have the minor third, F Lydian and G Mixolydian haven't."""
    stated, silent = (signature_scores(0, mode, 60, 12) for mode in ("minor", ""))
    assert int(stated.max(axis=0).argmax()) == 9
    gained = stated - silent
    assert gained[1, 2] > 0
    assert gained[1, 4] > 0
    assert not gained[0].any()


def test_the_parts_of_a_line_show_what_each_shows_alone():
    """Evidence of spans is the evidence of each span cut out, where all tones last alike."""
    line = named("C4 D4 E4 C4 E4 F4 G4 G4 G3 C4 A4 B4 C5")
    spans = (Span(0, 3), Span(4, 7), Span(8, 12))
    together = evidence(line.columns, spans)
    assert together.shape == (3, len(CUES), 12)
    for row, span in zip(together, spans, strict=True):
        part = line.cut(span)
        shift = (line[len(line) - 1].midi - part[len(part) - 1].midi) % 12
        alone = np.roll(evidence(part.columns, (part.whole,))[0], -shift, axis=1)
        np.testing.assert_allclose(row, alone)


def test_cues_of_a_short_tune():
    """G C E G F D B C C, the last three held: what each cue shows, counted by hand from the last tone, C."""
    keys, lengths = [67, 72, 76, 79, 77, 74, 71, 72, 72], [1.0] * 6 + [2.0, 1.0, 4.0]
    line = line_of(list(zip(keys, lengths, strict=True)))
    shown = evidence(line.columns, (line.whole,))[0]
    told = {cue: {i: round(float(x), 3) for i, x in enumerate(row) if x} for cue, row in zip(CUES, shown, strict=True)}
    assert told["first"] == {7: 1.0}
    assert told["second"] == told["opening_by_5"] == {0: 1.0}, "an upbeat 5-1"
    assert told["before_last"] == {11: 1.0}
    assert told["ending"] == {0: 1.0}
    assert told["held_ending"] == {0: 2.0}, "four times the usual length is two octaves"
    assert told["lowest"] == {7: 1.0}
    assert not told["low_ending"]
    assert set(told["leading"]) == {0}
    assert set(told["leapt"]) == {7, 0, 4, 5, 2, 11}
    assert told["before_that"] == {2: 1.0}, "D, before B and C"
    assert told["highest"] == {7: 1.0}
    assert told["next_highest"] == {5: 1.0}
    assert told["next_lowest"] == {11: 1.0}
    assert told["first_long"] == {11: 1.0}
    assert set(told["there"]) == {7, 0, 4, 5, 2, 11}
    assert set(told["again"]) == {7, 0}
    assert set(told["peaks"]) == {7}, "up to the high G"
    assert set(told["valleys"]) == {11}, "down to B"
    assert set(told["low_time"]) == {7, 0, 11}, "below the middle of the octave from G to G"
    assert told["repeated"] == {0: 0.333}, "one of a first and two more"
    assert told["ending_repeated"] == {0: 1.0}
    assert told["ending_by_1"] == {0: 1.0}
    assert not told["ending_by_10"], "no 2-1 at the end"
    assert set(told["by_4"]) == {4}
    assert set(told["by_9"]) == {2, 11}, "the falling minor thirds F D and D B"
    assert not told["by_2"]
    assert set(told["pair_1"]) == {11, 4}, "B with C, E with F"
    assert set(told["pair_6"]) == {5, 11}, "F with B, from either"
    assert told["ending_with_7"] == {0: told["heard"][7]}, "G beside the ending on C"
    assert not told["ending_with_3"], "no E flat"
    assert set(told["long_after_short"]) == {11, 0}
    assert told["triad"] == {0: 2 / (2 + 2)}, "G C E and C E G, and no minor one"


def test_the_ends_of_a_long_line_say_more_than_its_middle():
    """320 tones of D major between phrases of C major: home is where the line begins and ends."""
    phrase = [(key, 1.0) for key in (67, 72, 72, 74, 76, 72, 76, 77, 79, 76, 72, 74, 71, 67, 71, 72)]
    away = [(key + 2, length) for key, length in phrase] * 20
    found = find_tonic(line_of(phrase * 3 + away + phrase * 3))
    assert found.key == Key(0, "major")
    assert found.sure >= 0.9


def test_why_is_one_sentence_with_the_facts():
    line = named("C4 D4 E4 F4 G4 E4 C4 D4 B3 C4", fifths=0)
    told = why_tonic(line, find_tonic(line))
    assert told.startswith("C major")
    for fact in ("ends on it", "starts on it", "leading tone rises", "no tone lies outside its scale"):
        assert fact in told
    assert "key signature agrees" in told
    assert told.endswith(".")
    assert told.count(".") == 1
    modal = named("D4 A4 G4 F4 E4 D4 C4 D4 F4 G4 A4 B4 A4 G4 F4 E4 D4")
    assert "leading tone" not in why_tonic(modal, find_tonic(modal)), "Dorian has none"


def test_the_tonic_is_spelled_as_on_the_page_under_a_signature_far_away():
    """A piece that begins under one sharp and goes to five flats: its B flat is no A sharp."""
    line = named("Bb4 Db5 F5 Gb5 F5 Eb5 Db5 C5 A4 Bb4 F4 Bb4 C5 Db5 Bb4", fifths=1)
    assert find_tonic(line).key.name == "Bb minor"
