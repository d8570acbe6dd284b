"""What is written for the stand is read back right by another program (music21), and says on paper what it must."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from earloop.layers.catalogue import NAMES, build
from earloop.layers.layer import Layer
from earloop.reading import Decisions, Key
from earloop.reading.read import read
from earloop.reading.record import Bridge, Reading
from earloop.scores import load_line
from earloop.sheet import musicxml, write_musicxml

FREE = """X:1
T:Night Ferry
M:none
L:1/8
K:Em
B4 e2 B,2 (3efg f6 | !fermata!B,4 g2 {a}f2 e3 .|
z2 a5 C2 b1 D7 || (3gfe E8 |]
"""
METERED = """X:1
T:Pier
M:3/4
L:1/8
K:D
A2 | d4 F2- | F2 e4 | f3 e d>c | (3def g4 | z2 A,4 | d8 |]
"""


def _reading(folder: Path, text: str) -> Reading:
    path = folder / "tune.abc"
    path.write_text(text)
    return read(load_line(path))


def _reread(text: str) -> list[tuple[Fraction, Fraction, int]]:
    """(onset, length, MIDI key) as music21 hears the file: ties joined, graces left out."""
    from music21 import converter

    found: list[tuple[Fraction, Fraction, int]] = []
    tied: dict[tuple[str, int], tuple[Fraction, Fraction]] = {}
    for measure in converter.parseData(text, format="musicxml").parts[0].getElementsByClass("Measure"):
        for place in measure.voices or [measure]:
            for n in place.notes:
                if n.duration.isGrace:
                    continue
                key = (str(place.id) if measure.voices else "", n.pitch.midi)
                onset, length = tied.pop(key, (Fraction(measure.offset) + Fraction(n.offset), Fraction(0)))
                length += Fraction(n.quarterLength)
                if n.tie is not None and n.tie.type != "stop":
                    tied[key] = (onset, length)
                else:
                    found.append((onset, length, n.pitch.midi))
    assert not tied
    return sorted(found)


def _wanted(layer: Layer) -> list[tuple[Fraction, Fraction, int]]:
    def exact(value: float) -> Fraction:
        return Fraction(value).limit_denominator(960)

    return sorted((exact(t.onset), exact(t.length), t.pitch.midi) for t in layer.tones if t.length > 0)


@pytest.mark.parametrize("text", [FREE, METERED], ids=["free", "metered"])
@pytest.mark.parametrize("true_time", [True, False], ids=["true time", "closed up"])
@pytest.mark.parametrize("name", NAMES)
def test_another_program_reads_the_same_tones(tmp_path: Path, text: str, true_time: bool, name: str) -> None:
    reading = _reading(tmp_path, text)
    reading = replace(reading, bridges=(Bridge(1, 4), Bridge(2, 6)))
    layer = build(reading, name, true_time=true_time)
    assert _reread(musicxml(reading, layer)) == _wanted(layer)


def test_unmetered_stays_unmetered(tmp_path: Path) -> None:
    reading = _reading(tmp_path, FREE)
    tree = ElementTree.fromstring(musicxml(reading))
    assert tree.findall(".//time/senza-misura")
    assert not tree.findall(".//time/beats")
    styles = [element.text for element in tree.findall(".//bar-style")]
    assert styles == ["dotted", "light-light", "light-heavy"]


def test_a_meter_and_its_upbeat_stay(tmp_path: Path) -> None:
    reading = _reading(tmp_path, METERED)
    path = write_musicxml(reading, tmp_path / "out.musicxml")
    again = load_line(path)
    assert again.meters == reading.line.meters
    assert [tone.measure for tone in again] == [tone.measure for tone in reading.line]
    assert again.title == reading.line.title


def test_the_page_survives_the_round_trip(tmp_path: Path) -> None:
    """Pitches, lengths, graces, fermatas, slurs and bar lines of the whole line come back."""
    reading = _reading(tmp_path, FREE.replace("B4 e2", "(B4 e2)"))
    again = load_line(write_musicxml(reading, tmp_path / "out.musicxml"))

    def shown(line: object) -> list[tuple[object, ...]]:
        return [
            (t.onset, t.length, t.pitch, t.grace, t.marks.fermata, t.marks.slur_starts, t.marks.slur_stops)
            for t in line  # type: ignore[attr-defined]
        ]

    assert shown(again) == shown(reading.line)


def test_degrees_stand_below_the_tones(tmp_path: Path) -> None:
    reading = _reading(tmp_path, METERED)
    tree = ElementTree.fromstring(musicxml(reading))
    found = [lyric.findtext("text") for lyric in tree.findall(".//lyric") if lyric.get("number") == "1"]
    assert found == [str(degree).replace("#", "♯").replace("b", "♭") for degree in reading.degrees]


def test_lines_differ_by_more_than_colour(tmp_path: Path) -> None:
    reading = _reading(tmp_path, FREE)
    voices = tuple("upper" if tone.midi >= 64 else "lower" for tone in reading.line)
    tree = ElementTree.fromstring(musicxml(replace(reading, voices=voices)))
    signs = {"upper": set(), "lower": set()}
    for note in tree.findall(".//note"):
        if note.find("pitch") is not None and note.find("grace") is None:
            step, octave = note.findtext("pitch/step"), int(note.findtext("pitch/octave") or 0)
            voice = "upper" if octave > 4 or (octave == 4 and step in "EFGAB") else "lower"
            signs[voice].add((note.findtext("stem"), note.get("color")))
    assert len(signs["upper"]) == len(signs["lower"]) == 1
    (upper_stem, upper_colour), (lower_stem, lower_colour) = signs["upper"].pop(), signs["lower"].pop()
    assert (upper_stem, lower_stem) == ("up", "down")
    assert upper_colour != lower_colour


def test_a_bridge_is_small_and_in_brackets(tmp_path: Path) -> None:
    reading = replace(_reading(tmp_path, FREE), bridges=(Bridge(1, 4),))
    layer = build(reading, "bridged", depth=0, true_time=False)
    count = sum(tone.role == "bridge" for tone in layer.tones)
    assert count
    tree = ElementTree.fromstring(musicxml(reading, layer))
    assert len([t for t in tree.findall(".//type") if t.get("size") == "cue"]) == count
    assert len([h for h in tree.findall(".//notehead") if h.get("parentheses") == "yes"]) == count


def test_a_transposing_instrument_can_have_its_own_pitches(tmp_path: Path) -> None:
    from music21 import converter, instrument, note, stream

    part = stream.Part([instrument.Clarinet(), note.Note("D5", quarterLength=2), note.Note("E5", quarterLength=2)])
    part.atSoundingPitch = False
    path = part.write("musicxml", fp=tmp_path / "clarinet.musicxml")
    reading = read(load_line(path))
    assert [tone.pitch.name for tone in reading.line] == ["C5", "D5"]
    for written, names in ((False, ["C5", "D5"]), (True, ["D5", "E5"])):
        score = converter.parseData(musicxml(reading, written=written), format="musicxml")
        assert [n.nameWithOctave for n in score.recurse().notes] == names


def test_a_reading_as_a_notation_program_gets_it(tmp_path: Path) -> None:
    """MusicXML 4.0's own elements: lines by `color`, degrees by `lyric`, words by `words` above the staff."""
    line = load_line(_file(tmp_path, METERED))
    decided = Decisions(
        voices={1: "upper", 2: "lower", 3: "upper"}, words={1: "far bell", 12: "up-bow"}, home=Key(2, "major")
    )
    reading = read(line, decided)
    root = ElementTree.fromstring(musicxml(reading).encode())
    coloured = {
        note.findtext("pitch/step", "") + note.findtext("pitch/octave", ""): note.get("color")
        or note.find("notehead").get("color")  # type: ignore[union-attr]
        for note in root.iter("note")
        if note.find("pitch") is not None and (note.get("color") or note.find("notehead") is not None)
    }
    assert {"#0072B2", "#D55E00"} <= set(coloured.values())
    degrees = [lyric.findtext("text") for lyric in root.iter("lyric") if lyric.get("number") == "1"]
    assert degrees == [str(d).replace("#", "♯").replace("b", "♭") for d in reading.degrees]
    words = [d for d in root.iter("direction") if d.find("direction-type/words") is not None]
    assert [d.findtext("direction-type/words") for d in words] == ["far bell", "up-bow"]
    assert {d.get("placement") for d in words} == {"above"}
    # Each stands before the note it is over, in the same measure.
    for measure in root.iter("measure"):
        kinds = [child for child in measure if child.tag in ("note", "direction")]
        for child, after in pairwise(kinds):
            if child.find("direction-type/words") is not None:
                assert after.tag == "note"
                assert after.find("pitch") is not None


def test_words_go_with_their_tone_into_a_bare_layer(tmp_path: Path) -> None:
    """A word over a tone that the skeleton leaves out is left out with it; held tones don't say it twice."""
    reading = read(
        load_line(_file(tmp_path, METERED)), Decisions(levels={3: 5, 5: 0}, words={3: "far bell", 5: "up-bow"})
    )
    for name in ("skeleton", "held"):
        text = musicxml(reading, build(reading, name, depth=4))
        assert text.count("far bell") == 1
        assert text.count("up-bow") == (1 if name == "held" else 0)


def _file(folder: Path, text: str) -> Path:
    path = folder / "tune.abc"
    path.write_text(text)
    return path
