"""Hand corrections survive a new edition: five real edits, each made in the file, and some that must not match."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from earloop.line import Line, Tone
from earloop.line.pitch import pitch_from_midi
from earloop.scores import load_line
from earloop.scores.align import align, related

HEAD = "X:1\nT:Quay\nM:4/4\nL:1/8\nK:{key}\n"
BARS = [
    "G2 A2 B2 c2",
    "d3 c B2 A2",
    "B2 d2 g2 f2",
    "e3 d c2 B2",
    "{c}A2 G2 F2 A2",
    "c2 B2 A2 G2",
    "(3Bcd e2 d2 B2",
    "G4 z2 D2",
]


def _abc(folder: Path, name: str, bars: list[str], key: str = "G", joint: str = " | ") -> Path:
    path = folder / f"{name}.abc"
    path.write_text(HEAD.format(key=key) + joint.join(bars) + " |]\n")
    return path


@pytest.fixture
def old(tmp_path: Path) -> Line:
    return load_line(_abc(tmp_path, "old", BARS))


def test_the_same_line_is_its_own_place(old: Line) -> None:
    assert align(old, old).places == tuple(range(len(old)))


def test_a_transposed_copy_keeps_every_tone(old: Line) -> None:
    """A fourth up for another instrument."""
    found = align(old, old.transposed(3, 5))
    assert found.places == tuple(range(len(old)))
    assert found.semitones == 5


def test_inserted_measures_move_what_follows(old: Line, tmp_path: Path) -> None:
    new = load_line(_abc(tmp_path, "new", [*BARS[:3], "E2 F2 E2 D2", "z4 ^C2 D2", *BARS[3:]]))
    cut = sum(tone.measure in ("1", "2", "3") for tone in old)
    added = len(new) - len(old)
    assert added == 6
    assert align(old, new).places == tuple(i if i < cut else i + added for i in range(len(old)))


def test_removed_measures_are_lost_and_the_rest_stays(old: Line, tmp_path: Path) -> None:
    new = load_line(_abc(tmp_path, "new", BARS[:3] + BARS[5:]))
    gone = [i for i, tone in enumerate(old) if tone.measure in ("4", "5")]
    found = align(old, new)
    assert set(found.lost) <= set(gone)
    assert [place for place in found.places if place is not None] == sorted(p for p in found.places if p is not None)
    assert [i for i, p in enumerate(found.places) if p is not None and old[i].pitch != new[p].pitch] == []
    kept = [i for i in range(len(old)) if i not in gone]
    right = [i for i in kept if (p := found.places[i]) is not None and new[p].pitch == old[i].pitch]
    assert right == kept


def test_unfolded_repeats_find_each_tone_in_a_repeat(tmp_path: Path) -> None:
    folder = tmp_path
    path = folder / "repeats.abc"
    path.write_text(HEAD.format(key="G") + "|: " + " | ".join(BARS[:4]) + " :|: " + " | ".join(BARS[4:]) + " :|\n")
    once, played = load_line(path), load_line(path, unfold_repeats=True)
    assert len(played) == 2 * len(once)
    found = align(once, played)
    assert found.lost == ()
    assert all(played[place].pitch == once[i].pitch for i, place in enumerate(found.places) if place is not None)
    assert all(played[p].measure == once[i].measure for i, p in enumerate(found.places) if p is not None)


def test_values_written_with_other_ties_are_the_same_tones(old: Line, tmp_path: Path) -> None:
    respelled = [bar.replace("d3", "d2-d").replace("e3", "e-e2").replace("G4", "G-G-G2") for bar in BARS]
    new = load_line(_abc(tmp_path, "new", respelled))
    assert align(old, new).places == tuple(range(len(old)))


def test_half_the_note_values_are_the_same_tones(old: Line, tmp_path: Path) -> None:
    path = _abc(tmp_path, "new", BARS)
    path.write_text(path.read_text().replace("L:1/8", "L:1/16").replace("M:4/4", "M:2/4"))
    assert align(old, load_line(path)).places == tuple(range(len(old)))


def test_another_encoding_keeps_every_tone_it_can_say(old: Line, tmp_path: Path) -> None:
    """A MIDI file exported by music21 from the same page: no grace notes as such, no spelling, no ties."""
    from music21 import note, stream

    part = stream.Part()
    now = 0.0
    for tone in old:
        if not tone.grace:
            part.insert(tone.onset, note.Note(tone.midi, quarterLength=tone.length))
            now = tone.end
    assert now == old.end
    part.write("midi", fp=tmp_path / "new.mid")
    new = load_line(tmp_path / "new.mid")
    places = align(old, new).places
    kept = [i for i, tone in enumerate(old) if not tone.grace]
    assert [i for i, place in enumerate(places) if place is not None] == kept
    assert [places[i] for i in kept] == list(range(len(new)))


def test_a_misprint_put_right_is_still_the_same_tone(old: Line, tmp_path: Path) -> None:
    new = load_line(_abc(tmp_path, "new", [*BARS[:2], "B2 d2 a2 f2", *BARS[3:]]))
    assert align(old, new).places == tuple(range(len(old)))


def test_another_tune_matches_hardly_anything(old: Line) -> None:
    dice = random.Random(7)
    other = Line(tuple(Tone(i * 0.75, 0.75, pitch_from_midi(dice.randint(40, 100))) for i in range(len(old))))
    assert len(align(old, other).lost) > len(old) * 0.7


def test_a_long_line_with_an_insertion(old: Line) -> None:
    """5,000 tones: a sanity limit only; the time is for the bench."""
    dice = random.Random(3)
    keys = [dice.choice((60, 62, 64, 65, 67, 69, 71, 72)) for _ in range(5000)]
    tones = [Tone(i * 0.5, 0.5, pitch_from_midi(key)) for i, key in enumerate(keys)]
    longer = [*keys[:2000], 61, 63, 66, 68, *keys[2000:]]
    first = Line(tuple(tones))
    second = Line(tuple(Tone(i * 0.5, 0.5, pitch_from_midi(key)) for i, key in enumerate(longer)))
    assert align(first, second).places == tuple(i if i < 2000 else i + 4 for i in range(5000))


def test_another_tune_is_not_related_though_pitches_recur(old: Line, tmp_path: Path) -> None:
    other = load_line(_abc(tmp_path, "other", ["D2 G2 B2 d2", "c4 e4", "d2 F2 A2 c2", "B4 g4", "G2 E2 C2 E2", "D4 G4"]))
    assert sum(place is not None for place in align(old, other).places) > 3
    assert not related(old, other)
    assert not related(other, old)


@pytest.mark.parametrize("changed", [0.0, 0.1, 0.2])
def test_an_edition_stays_related_though_every_fifth_tone_is_another(old: Line, changed: float) -> None:
    """Also where it is transposed; an excerpt is related, too."""
    dice = random.Random(7)
    for _ in range(40):
        tones = tuple(t if dice.random() >= changed else replace(t, pitch=t.pitch.moved(1, 2)) for t in old.tones)
        edition = replace(old, tones=tones).transposed(3, 5)
        assert related(old, edition)
    assert related(old.transposed(3, 5), replace(old, tones=old.tones[8:20]))
