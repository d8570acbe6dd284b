"""What sounds with a line, against music21's own look through the whole score at the same moments."""

from __future__ import annotations

from pathlib import Path

import music21
import pytest
from music21 import converter

from earloop.line import Line, OtherTone, Tone
from earloop.reading.harmony_heard import harmony_heard
from earloop.scores import load_line

CORPUS = Path(music21.__file__).parent / "corpus"
SCORES = ("bach/bwv66.6.mxl", "mozart/k80/movement1.mxl", "palestrina/Agnus.krn", "schubert/Lindenbaum.xml")


def heard_by_music21(path: Path, moments: list[float], start: float) -> list[set[int]]:
    """The MIDI numbers of the other parts at each moment, each part searched for notes that span it."""
    spans = []
    for part in converter.parse(path, forceSource=True, storePickle=False).parts[1:]:
        flat = part.toSoundingPitch().flatten().notes
        for note in flat:
            if not note.duration.isGrace and "Harmony" not in note.classSet:
                spans.append((float(note.offset), float(note.offset + note.quarterLength), note.pitches))
    return [
        {pitch.midi for a, b, pitches in spans if a - 1e-4 <= moment + start < b - 1e-4 for pitch in pitches}
        for moment in moments
    ]


@pytest.mark.parametrize("score", SCORES)
def test_the_other_parts_sound_as_music21_finds_them(score: str) -> None:
    line = load_line(CORPUS / score, part=1)
    first = next(iter(converter.parse(CORPUS / score).parts[0].flatten().notes)).offset
    moments = [tone.onset for tone in line.tones if not tone.grace]
    truth = heard_by_music21(CORPUS / score, moments, float(first))
    for moment, expected in zip(moments, truth, strict=True):
        ours = {t.pitch.midi for t in line.others if t.onset - 1e-4 <= moment < t.end - 1e-4}
        own = {tone.midi for tone in line.tones if abs(tone.onset - moment) < 1e-4}
        assert ours - own == expected - own, f"{score} at {moment}"


@pytest.mark.parametrize("score", SCORES)
def test_each_tone_is_given_its_pitch_classes(score: str) -> None:
    line = load_line(CORPUS / score, part=1)
    heard = harmony_heard(line)
    assert heard is not None
    for index, tone in enumerate(line.tones):
        end = tone.onset if tone.grace else tone.end
        at_onset = {t.pitch.midi for t in line.others if t.onset - 1e-4 <= tone.onset < t.end - 1e-4}
        during = {t.pitch.midi % 12 for t in line.others if t.onset < end - 1e-4 and t.end > tone.onset + 1e-4}
        assert set(heard.at_onset[index].nonzero()[0]) == {midi % 12 for midi in at_onset}
        assert heard.bass[index] == min(at_onset, default=-1)
        if not tone.grace:
            assert set(heard.during[index].nonzero()[0]) == during


def test_a_line_alone_has_no_harmony() -> None:
    line = load_line(CORPUS / "oneills1850" / "0001-0050.abc", tune=1)
    assert line.others == ()
    assert harmony_heard(line) is None


def test_others_move_with_the_line() -> None:
    line = load_line(CORPUS / SCORES[0], part=1)
    moved = line.transposed(2, 4)
    assert [t.pitch.midi - 4 for t in moved.others] == [t.pitch.midi for t in line.others]
    later = line.cut(type(line.whole)(10, 20))
    assert_same_moments(line, later, 10)


def assert_same_moments(line: Line, later: Line, first: int) -> None:
    shift = line.tones[first].onset
    whole, cut = harmony_heard(line), harmony_heard(later)
    assert whole is not None
    assert cut is not None
    assert shift > 0
    assert (cut.at_onset == whole.at_onset[first : first + len(later)]).all()
    assert (cut.bass == whole.bass[first : first + len(later)]).all()


def test_repeats_played_out_bring_their_harmony_again() -> None:
    path = CORPUS / "mozart" / "k80" / "movement1.mxl"
    once, twice = load_line(path, part=1), load_line(path, part=1, unfold_repeats=True)
    assert len(twice) > len(once)
    again, whole = harmony_heard(twice), harmony_heard(once)
    assert again is not None
    assert whole is not None
    place = {place: index for index, place in enumerate(places(once))}
    for index, at in enumerate(places(twice)):
        assert (again.at_onset[index] == whole.at_onset[place[at]]).all(), at


def places(line: Line) -> list[tuple[str, int]]:
    """Each tone's measure and its number in it."""
    out: list[tuple[str, int]] = []
    for tone in line.tones:
        measure, number = out[-1] if out else ("", 0)
        out.append((tone.measure, number + 1 if tone.measure == measure else 0))
    return out


def test_lower_tones_of_the_lines_own_chords_sound_with_it() -> None:
    path = CORPUS / "schubert" / "Lindenbaum.xml"
    piano = load_line(path, part=2)
    below = [(tone.onset, low.midi) for tone in piano.tones for low in tone.marks.chord_below if not tone.grace]
    others = {(round(t.onset, 4), t.pitch.midi) for t in piano.others}
    assert below
    assert all((round(onset, 4), midi) in others for onset, midi in below)


def test_others_that_last_throughout_are_heard_in_every_tone() -> None:
    """As many as the line has tones: each pair held in memory would be 400 million."""
    count = 20_000
    pitch = load_line(CORPUS / SCORES[0], part=1).tones[0].pitch
    line = Line(
        tones=tuple(Tone(float(k), 1.0, pitch) for k in range(count)),
        others=tuple(OtherTone(0.0, float(count), pitch) for _ in range(count)),
    )
    heard = harmony_heard(line)
    assert heard is not None
    for table in (heard.at_onset, heard.at_end, heard.during):
        assert table.sum(axis=1).tolist() == [1] * count
    assert heard.struck.any(axis=1).tolist() == [True] + [False] * (count - 1)
