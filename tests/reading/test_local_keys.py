"""Local keys: a transposed gesture reads as its model, modulations are heard, and nothing leaves home for nothing."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from earloop.line import Line, Span, Tone
from earloop.line.pitch import Pitch, pitch_from_midi, pitch_from_name
from earloop.reading.at_once import at_once
from earloop.reading.decisions import Decisions
from earloop.reading.degrees import local_degrees
from earloop.reading.local_keys import find_local_keys, why_local
from earloop.reading.local_passages import key_at, key_number, settled
from earloop.reading.read import read
from earloop.reading.record import Key, Tonic
from earloop.scores import load_line

HOME = Tonic(Key(0), 0.9, tuple(range(12)), 0.95)
SCALE = (0, 2, 4, 5, 7, 9, 11)
steps_in = st.lists(st.integers(-4, 4), min_size=3, max_size=6).filter(any)
MOVES = [(steps, semitones) for steps in range(-4, 5) for semitones in (12 * (steps // 7) + SCALE[steps % 7],)]
INTERVALS = [(steps, semitones + alter) for steps, semitones in MOVES for alter in (-1, 0, 1) if semitones + alter]
rhythms = st.lists(st.sampled_from([0.25, 0.5, 1.0, 1.5]), min_size=7, max_size=7)


def has_a_step(moves: list[int]) -> bool:
    return any(abs(move) <= 1 for move in moves)


def white(height: int) -> Pitch:
    """The C major tone at a diatonic height."""
    return Pitch(height % 7, 0, height // 7)


def line_of(pitches: list[Pitch], lengths: list[float], spelled: bool = True) -> Line:
    onset, tones = 0.0, []
    for pitch, length in zip(pitches, lengths, strict=True):
        made = pitch if spelled else pitch_from_midi(pitch.midi)
        tones.append(Tone(onset, length, made))
        onset += length
    return Line(tuple(tones), spelled=spelled)


def named(names: str, spelled: bool = True) -> Line:
    pitches = [pitch_from_name(name) for name in names.split()]
    return line_of(pitches, [1.0] * len(pitches), spelled)


def told(line: Line, local, span: Span) -> list[str]:
    found = local_degrees(line.columns, local, line.spelled)
    return [str(found[i]) for i in span.indexes]


@given(steps_in, rhythms, st.sampled_from(INTERVALS), st.booleans())
def test_an_exact_transposition_keeps_its_degrees(moves, rhythm, interval, spelled):
    """Any gesture moved by letters and semitones, spelled or as MIDI keys, reads degree for degree as its model."""
    steps, semitones = interval
    heights = [32]
    for move in moves:
        heights.append(heights[-1] + move)
    model = [white(height) for height in heights]
    size = len(model)
    copy = [pitch.moved(steps, semitones) for pitch in model]
    line = line_of(model + copy, rhythm[:size] * 2, spelled)
    spans = (Span(0, size - 1), Span(size, 2 * size - 1))
    local = find_local_keys(line, HOME, spans)
    assert local[1].model == spans[0]
    assert told(line, local, spans[0]) == told(line, local, spans[1])
    assert local[1].key.pc == (local[0].key.pc + semitones) % 12


@given(steps_in.filter(has_a_step), rhythms, st.integers(-5, 5).filter(bool), st.booleans())
def test_a_tonal_transposition_keeps_its_degree_numbers(moves, rhythm, steps, spelled):
    """Within the scale (a sequence) semitones change here and there; the numbers above the little tonic don't."""
    heights = [32]
    for move in moves:
        heights.append(heights[-1] + move)
    size = len(heights)
    pitches = [white(height) for height in heights] + [white(height + steps) for height in heights]
    line = line_of(pitches, rhythm[:size] * 2, spelled)
    spans = (Span(0, size - 1), Span(size, 2 * size - 1))
    local = find_local_keys(line, HOME, spans)
    assert local[1].model == spans[0]
    first, second = (told(line, local, span) for span in spans)
    assert [degree[-1] for degree in first] == [degree[-1] for degree in second]


def test_a_rising_sequence_reads_one_two_three_in_each_little_key():
    """C D E, D E F, E F G: 1 2 3 in C major, D minor and E minor, the last with its lowered second."""
    line = named("C4 D4 E4 D4 E4 F4 E4 F4 G4")
    spans = (Span(0, 2), Span(3, 5), Span(6, 8))
    local = find_local_keys(line, HOME, spans)
    assert [part.key.name for part in local] == ["C major", "D minor", "E minor"]
    assert [told(line, local, span) for span in spans] == [["1", "2", "3"], ["1", "2", "3"], ["1", "b2", "3"]]
    assert "2 semitones higher" in why_local(line, local[1], HOME.key)


MODULATING = (
    "C5 D5 E5 F5 G5 E5 C5 B4 C5  A4 D5 F#5 A5 G5 F#5 E5 D5 G5  B5 A5 G5 F#5 G5 D5 B4 A4 G4  "
    "D5 E5 F#5 G5 A5 F#5 D5 F#5 G5  E5 F5 D5 G4 B4 D5 F5 E5 C5  G4 C5 E5 D5 F5 D5 B4 D5 C5"
)


def test_a_modulating_line_keeps_home_and_local_apart():
    """From C major to G major with its F sharp and closes on G, and home again (a passage of our own)."""
    line = named(MODULATING)
    spans = tuple(Span(i, i + 8) for i in range(0, 54, 9))
    keys = [part.key.name for part in find_local_keys(line, HOME, spans)]
    assert keys[0] == "C major"
    assert keys[2:4] == ["G major", "G major"]
    assert keys[5] == "C major"


def test_one_altered_tone_moves_nothing():
    line = named("C5 E5 G5 F#5 G5 E5 C5  D5 E5 F5 D5 B4 C5 C5  G4 G#4 A4 B4 C5 D5 C5")
    spans = (Span(0, 6), Span(7, 13), Span(14, 20))
    assert {part.key for part in find_local_keys(line, HOME, spans)} == {Key(0)}


def test_two_or_three_tones_make_a_little_key_only_in_a_sequence():
    """A sigh moved by a fifth stays at home; moved at once by a step it takes its degrees along."""
    spans = (Span(0, 1), Span(2, 3))
    rhythm = [1.5, 0.5] * 2
    apart = line_of([pitch_from_name(name) for name in ("D5", "C5", "A4", "G4")], rhythm)
    assert [part.model for part in find_local_keys(apart, HOME, spans)] == [None, None]
    climbing = line_of([pitch_from_name(name) for name in ("D5", "C5", "E5", "D5")], rhythm)
    assert find_local_keys(climbing, HOME, spans)[1].model == spans[0]


def test_a_key_that_comes_and_goes_is_not_heard():
    """A chain that would change its key for one gesture of three tones stays; a decided key stands all the same."""
    scores = np.full((4, 24), -9.0)
    scores[[0, 3], 0] = scores[[1, 2], 7] = 0.0
    scores[1, 0], scores[2, 9] = -3.0, -1.0
    best, sizes = np.array([0, 7, 9, 0]), np.array([5, 3, 2, 6])
    assert settled(best, scores, sizes, {}).tolist() == [0, 7, 7, 0]
    assert settled(best[:2], scores[:2], sizes[:2], {}).tolist() == [0, 0]
    assert settled(best, scores, sizes, {2: Key(3)}).tolist() == [0, 0, 9, 0]


def test_a_scale_far_away_is_not_taken_for_a_repeat():
    """Four even steps up turn up by chance; five gestures later they are no copy."""
    line = named("C4 D4 E4 F4  " + "G4 E4 C4 " * 5 + "F4 G4 A4 B4")
    spans = (Span(0, 3), *(Span(i, i + 2) for i in range(4, 19, 3)), Span(19, 22))
    assert find_local_keys(line, HOME, spans)[-1].model is None


def test_woven_lines_that_climb_in_parallel_stay_at_home():
    """Leaps alone (a broken chord, two lines on one string) move along inside the key: no new tonic at every step."""
    line = named("C4 G4 E5 D4 A4 F5 E4 B4 G5 C4 E5 D4 F5 E4 G5 F4 A5")
    spans = (Span(0, 2), Span(3, 5), Span(6, 8), Span(9, 12), Span(13, 16))
    assert {part.key for part in find_local_keys(line, HOME, spans)} == {Key(0)}


def test_the_hand_made_reading_of_a_climbing_sigh():
    """The library's phrase where one gesture climbs step by step: the local degrees heard by hand, in its spans."""
    folder = Path(__file__).resolve().parents[2] / "phrases"
    record = tomllib.loads((folder / "05-counting-milestones.toml").read_text(encoding="utf-8"))["reading"]
    line = load_line(folder / "05-counting-milestones.musicxml")
    starts = [appearance["first"] for appearance in record["motives"]] + [12, 21]
    lasts = [appearance["last"] for appearance in record["motives"]] + [12, 25]
    spans = tuple(Span(a, b) for a, b in zip(sorted(starts), sorted(lasts), strict=True))
    home = Tonic(Key(2), 1.0, tuple(range(12)), 1.0)
    local = find_local_keys(line, home, spans)
    heard = [degree for phrase in record["phrase"] for degree in phrase["local"].split()]
    assert told(line, local, line.whole) == heard


def test_decided_keys_stand_and_copies_follow_them():
    line = named("G4 B4 D5 C5 A4 C5 E5 D5 G4 A4 B4 C5")
    spans = (Span(0, 3), Span(4, 7), Span(8, 11))
    decided = Decisions(local=((Span(0, 3), Key(1)), (Span(8, 11), Key(-1)), (Span(9, 11), Key(4, "minor"))))
    local = find_local_keys(line, HOME, spans, decided)
    assert [part.key for part in local] == [Key(1), Key(3, "minor"), Key(4, "minor")]
    assert local[0].sure == local[2].sure == 1.0
    assert local[1].model == Span(0, 3)


def test_a_decided_key_rules_the_same_gestures_at_once_and_when_read():
    """The first look gives a decided key to the gesture most of which it covers, though it begins a tone late."""
    line = named("C4 D4 E4 F4 G4 A4 G4 F4 E4")
    before = Decisions(gesture_ends={4: True})
    shown = read(line, before)
    assert [local.span for local in shown.local] == [Span(0, 4), Span(5, 8)]
    decided = replace(before, local=((Span(1, 4), Key(1)),))
    looked, later = at_once(shown, before, decided), read(line, decided)
    assert [local.key for local in looked.local] == [local.key for local in later.local]
    assert looked.local[0].key == Key(1) != shown.local[0].key


def test_key_numbers_go_both_ways():
    for home in (Key(0), Key(-3, "minor"), Key(9)):
        for number in range(24):
            assert key_number(key_at(number, home), home) == number
        assert key_at(0, home) == home


@given(st.lists(st.integers(30, 90), min_size=1, max_size=30), st.data())
def test_every_cutting_of_every_line_gets_a_key_for_each_gesture(keys, data):
    """Law 3; and law 1: moved as a whole the line has the same local degrees, models and certainties."""
    cuts = sorted(data.draw(st.sets(st.integers(1, len(keys)), max_size=8)) | {len(keys)})
    spans = tuple(Span(a, b - 1) for a, b in zip([0, *cuts], cuts, strict=False))
    line = line_of([pitch_from_midi(key) for key in keys], [1.0] * len(keys))
    moved = line.transposed(2, 3)
    local = find_local_keys(line, HOME, spans)
    there = find_local_keys(moved, Tonic(Key(-3), 0.9, HOME.ranked, 0.95), spans)
    assert [part.span for part in local] == list(spans)
    assert all(0.0 <= part.sure <= 1.0 for part in local)
    assert local_degrees(line.columns, local) == local_degrees(moved.columns, there)
    assert [(part.model, part.sure) for part in local] == [(part.model, part.sure) for part in there]
