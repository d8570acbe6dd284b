"""What MusicXML, Humdrum, MIDI and MEI say beyond the notes reaches the line."""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import mido
import pytest

from earloop.line import Line, Meter
from earloop.scores import list_parts, load_line

XML = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0"><work><work-title>Free</work-title></work>
<part-list><score-part id="P1"><part-name>Clarinet in Bb</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>6</divisions>
<key><fifths>2</fifths><mode>major</mode></key><time><senza-misura/></time>
<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>
<direction><direction-type><dynamics><mf/></dynamics></direction-type><sound tempo="66"/></direction>
<direction><direction-type><wedge type="crescendo"/></direction-type></direction>
<note><grace/><pitch><step>D</step><octave>5</octave></pitch><type>eighth</type></note>
<note><pitch><step>E</step><octave>5</octave></pitch><duration>6</duration><notations><slur type="start" number="1"/>
<ornaments><trill-mark/></ornaments><articulations><tenuto/></articulations></notations>
<lyric><syllabic>begin</syllabic><text>Ky</text></lyric></note>
<note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch><duration>6</duration>
<notations><slur type="stop" number="1"/><articulations><breath-mark/></articulations></notations></note>
<direction><direction-type><wedge type="stop"/></direction-type></direction>
<note><pitch><step>G</step><octave>5</octave></pitch><duration>12</duration><tie type="start"/></note>
<barline location="right"><bar-style>dotted</bar-style></barline></measure>
<measure number="2"><note><pitch><step>G</step><octave>5</octave></pitch><duration>6</duration><tie type="stop"/>
<notations><fermata/></notations></note>
<note><rest/><duration>6</duration></note>
<note><pitch><step>A</step><octave>4</octave></pitch><duration>24</duration>
<notations><articulations><breath-mark>comma</breath-mark></articulations></notations></note></measure>
<measure number="3"><note><pitch><step>C</step><octave>5</octave></pitch><duration>2</duration></note>
<note><pitch><step>E</step><octave>4</octave></pitch><duration>2</duration></note>
<note><chord/><pitch><step>C</step><octave>4</octave></pitch><duration>2</duration></note>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>2</duration>
<notations><articulations><caesura/></articulations></notations></note></measure>
</part></score-partwise>
"""
KERN = """!!!OTL: Harbour
**kern\t**text
*I"Viol\t*
*k[f#]\t*
*G:\t*
*MX\t*
=\t=
(8cc,\tla-
4dd;T)\tda
4r\t.
=\t=
qff\t.
4gg'\tx
[4gg\t.
=||\t=||
8gg]\t.
4cc 4ee\t.
==\t==
*-\t*-
"""


def _written(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def xml(tmp_path: Path) -> Line:
    return load_line(_written(tmp_path / "free.musicxml", XML))


def test_musicxml_signs_stay_on_their_tones(xml: Line) -> None:
    """Element names: MusicXML 4.0 (W3C Community Group Final Report 2021)."""
    marks = [tone.marks for tone in xml]
    assert [tone.grace for tone in xml] == [True] + [False] * 7
    assert [mark.break_after for mark in marks] == ["", "", "breath", "dotted-bar", "comma", "", "", "caesura"]
    assert [mark.fermata for mark in marks] == [False, False, False, True] + [False] * 4
    assert marks[0].dynamic == "mf"
    assert [mark.hairpin for mark in marks[:4]] == ["crescendo"] * 3 + [""]
    assert (marks[1].ornaments, marks[1].articulations, marks[1].word) == (("trill-mark",), ("tenuto",), "Ky-")
    assert (marks[1].slur_starts, marks[2].slur_stops) == (1, 1)
    assert xml.meters == ()
    assert (xml.title, xml.tempo, xml.mode) == ("Free", 66.0, "major")


def test_a_transposing_part_sounds_and_keeps_what_is_written(xml: Line) -> None:
    assert [tone.pitch.name for tone in xml] == ["C5", "D5", "E5", "F5", "G4", "Bb4", "D4", "Bb4"]
    assert [tone.written.name for tone in xml if tone.written][:4] == ["D5", "E5", "F#5", "G5"]
    assert xml[6].marks.chord_below[0].name == "Bb3"
    assert xml.fifths == 0
    assert any("transposing" in note for note in xml.notes)


def test_ties_are_joined_and_triplets_exact(xml: Line) -> None:
    assert [(tone.onset, tone.length) for tone in xml][3:5] == [(2.0, 3.0), (6.0, 4.0)]
    assert [tone.onset for tone in xml][5:] == [10.0, 10 + 1 / 3, 10 + 2 / 3]


def test_a_compressed_file_is_the_same(tmp_path: Path, xml: Line) -> None:
    path = tmp_path / "free.mxl"
    with zipfile.ZipFile(path, "w") as archive:
        container = '<container><rootfiles><rootfile full-path="a/free.xml"/></rootfiles></container>'
        archive.writestr("META-INF/container.xml", container)
        archive.writestr("a/free.xml", XML)
    assert load_line(path).tones == xml.tones


def test_other_encodings_of_the_text(tmp_path: Path, xml: Line) -> None:
    path = tmp_path / "free.xml"
    path.write_bytes(XML.replace("UTF-8", "UTF-16").encode("utf-16"))
    assert load_line(path).tones == xml.tones


def test_humdrum_keeps_what_its_parser_drops(tmp_path: Path) -> None:
    """Humdrum **kern signs: `,` breath, `;` fermata, `( )` slur, `T` trill, `q` grace (Huron, Humdrum guide)."""
    line = load_line(_written(tmp_path / "harbour.krn", KERN))
    assert [tone.pitch.name for tone in line] == ["C5", "D5", "F5", "G5", "G5", "E5"]
    assert [tone.grace for tone in line] == [False, False, True, False, False, False]
    assert [(tone.onset, tone.length) for tone in line] == [(0, 0.5), (0.5, 1), (2.5, 0), (2.5, 1), (3.5, 1.5), (5, 1)]
    assert [tone.marks.break_after for tone in line] == ["breath", "", "", "", "double-bar", "double-bar"]
    assert line[1].marks.fermata
    assert (line[0].marks.slur_starts, line[1].marks.slur_stops) == (1, 1)
    assert [tone.marks.word for tone in line] == ["la-", "da", "", "x", "", ""]
    assert (line.part, line.title, line.fifths, line.mode, line.meters) == ("Viol", "Harbour", 1, "major", ())


def _midi(path: Path, notes: list[tuple[float, float, int]], *, meter: bool = False, program: int = 0) -> Path:
    """Notes as (start, end in quarters, key), at 480 ticks a quarter."""
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    if meter:
        track.append(mido.MetaMessage("time_signature", numerator=3, denominator=4))
    changes = [(start, 1, key) for start, _, key in notes] + [(end, 0, key) for _, end, key in notes]
    now = 0
    for at, on, key in sorted(changes):
        tick = round(at * 480)
        track.append(mido.Message("note_on" if on else "note_off", note=key, velocity=64 * on, time=tick - now))
        now = tick
    file.save(str(path))
    return path


def test_a_played_midi_file_is_rounded(tmp_path: Path) -> None:
    """Eighths and a triplet, each up to 25 ms off at 120 a minute and let go early."""
    starts = [0, 0.5, 1, 1.5, 2, 2 + 1 / 3, 2 + 2 / 3, 3]
    off = [0.0, 0.04, -0.03, 0.02, -0.02, 0.03, 0.01, -0.04]
    notes = [(s + o, s + o + 0.28, 60 + i) for i, (s, o) in enumerate(zip(starts, off, strict=True))]
    line = load_line(_midi(tmp_path / "played.mid", notes))
    assert [tone.onset for tone in line] == starts
    assert [tone.end for tone in line][:-1] == pytest.approx(starts[1:])
    assert any("Played" in note for note in line.notes)
    assert line.spelled is False


def test_midi_without_a_time_signature_is_unmetered(tmp_path: Path) -> None:
    notes = [(0.0, 1.0, 60), (1.0, 2.0, 62)]
    assert load_line(_midi(tmp_path / "free.mid", notes)).meters == ()
    assert load_line(_midi(tmp_path / "waltz.mid", notes, meter=True)).meters == ((0.0, Meter(3, 4, 0.0)),)


def test_overlaps_and_chords_leave_one_tone_at_a_time(tmp_path: Path) -> None:
    notes = [(0.0, 1.1, 60), (1.0, 2.0, 62), (2.0, 3.0, 64), (2.0, 3.0, 55), (3.0, 5.0, 72), (4.0, 5.0, 48)]
    line = load_line(_midi(tmp_path / "piano.mid", notes))
    assert [(tone.onset, tone.length, tone.midi) for tone in line] == [(0, 1, 60), (1, 1, 62), (2, 1, 64), (3, 2, 72)]
    assert line[2].marks.chord_below[0].midi == 55


def test_the_drum_channel_is_no_melody(tmp_path: Path) -> None:
    file = mido.MidiFile(ticks_per_beat=480)
    for channel, name in ((9, "Drums"), (0, "Fiddle")):
        track = mido.MidiTrack([mido.MetaMessage("track_name", name=name)])
        track.append(mido.Message("note_on", channel=channel, note=60, velocity=64, time=0))
        track.append(mido.Message("note_off", channel=channel, note=60, time=480))
        file.tracks.append(track)
    path = tmp_path / "band.mid"
    file.save(str(path))
    assert [(part.name, part.melodic) for part in list_parts(path)] == [("Drums", False), ("Fiddle", True)]
    assert load_line(path).part == "Fiddle"


def test_the_screen_stays_clean(tmp_path: Path) -> None:
    """Nothing music21 has to say reaches standard output or error; *MX makes it warn."""
    path = _written(tmp_path / "harbour.krn", KERN)
    code = f"from earloop.scores import load_line; load_line({str(path)!r})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=True)
    assert (done.stdout, done.stderr) == ("", "")


def test_abc_and_midi_need_no_score_library(tmp_path: Path) -> None:
    """The phrases open without the second that importing music21 can take; and no pickle is written anywhere."""
    tune = _written(tmp_path / "tune.abc", "X:1\nL:1/4\nK:C\nc d e\n")
    midi = _midi(tmp_path / "tune.mid", [(0.0, 1.0, 60)])
    code = f"import sys; from earloop.scores import load_line; load_line({str(tune)!r}); load_line({str(midi)!r})"
    code += "; print('music21' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=True)
    assert done.stdout.strip() == "False"
