"""ABC as the ABC standard 2.1 defines it (abcnotation.com/wiki/abc:standard:v2.1; section numbers beside each)."""

from __future__ import annotations

from pathlib import Path

import pytest

from earloop.line import Line, Meter
from earloop.scores import list_tunes, load_line


def _line(folder: Path, body: str, head: str = "M:none\nL:1/4\nK:C\n", **choices: object) -> Line:
    path = folder / "tune.abc"
    path.write_text("X:1\nT:Lamp\n" + head + body + "\n")
    return load_line(path, **choices)  # type: ignore[arg-type]


def _names(line: Line) -> list[str]:
    return [tone.pitch.name for tone in line]


def _lengths(line: Line) -> list[float]:
    return [tone.length for tone in line]


@pytest.mark.parametrize(
    ("body", "names"),
    [
        ("C, C c c'", ["C3", "C4", "C5", "C6"]),  # 4.1
        ("^c __d =e _B", ["C#5", "Dbb5", "E5", "Bb4"]),  # 4.2
        ("^c c | c", ["C#5", "C#5", "C5"]),  # 4.2: to the end of the bar
        ("^c C", ["C#5", "C#4"]),  # 11.3: propagate-accidentals is `pitch` by default
        ("^c- | c", ["C#5"]),  # 4.11: a tie carries the accidental over the bar line
    ],
)
def test_pitches(tmp_path: Path, body: str, names: list[str]) -> None:
    assert _names(_line(tmp_path, body)) == names


@pytest.mark.parametrize(
    ("body", "lengths"),
    [
        ("A A2 A/ A/2 A// A3/2 A/4", [1, 2, 0.5, 0.5, 0.25, 1.5, 0.25]),  # 4.3
        ("A>B A<B A>>B", [1.5, 0.5, 0.5, 1.5, 1.75, 0.25]),  # 4.4
        ("A3>B", [4.5, 0.5]),
        ("(3ABc d", [2 / 3] * 3 + [1]),  # 4.13
        ("(2AB (4ABcd (5:4:5ABcde", [1.5, 1.5] + [0.75] * 4 + [0.8] * 5),
        ("(3:2:2A2B c", [4 / 3, 2 / 3, 1]),
        ("A z A x A", [1, 1, 1]),  # 4.5: invisible rests are rests
        ("[CEG]2 [C2E2]", [2, 2]),  # 4.17
        ("A-A2-|A", [4]),  # 4.11
    ],
)
def test_lengths(tmp_path: Path, body: str, lengths: list[float]) -> None:
    assert _lengths(_line(tmp_path, body)) == pytest.approx(lengths)


def test_rests_take_their_time(tmp_path: Path) -> None:
    line = _line(tmp_path, "A z2 B x c y d")
    assert [tone.onset for tone in line] == [0, 3, 5, 6]


def test_several_bars_of_rest(tmp_path: Path) -> None:
    """4.5: Z4 is four bars of rest."""
    line = _line(tmp_path, "A4 | Z2 | B4 |", "M:4/4\nL:1/4\nK:C\n")
    assert [tone.onset for tone in line] == [0, 12]
    assert [tone.measure for tone in line] == ["1", "4"]


def test_the_unit_without_an_l_field(tmp_path: Path) -> None:
    """3.1.7: a sixteenth under 0.75, an eighth otherwise, also in free meter."""
    assert _lengths(_line(tmp_path, "A", "M:2/4\nK:C\n")) == [0.25]
    assert _lengths(_line(tmp_path, "A", "M:3/4\nK:C\n")) == [0.5]
    assert _lengths(_line(tmp_path, "A", "M:none\nK:C\n")) == [0.5]


@pytest.mark.parametrize(
    ("key", "fifths", "mode"),
    [
        ("G", 1, "major"),
        ("F#m", 3, "minor"),
        ("Bb", -2, "major"),
        ("D Dorian", 0, "dorian"),
        ("Amix", 2, "mixolydian"),
        ("EPhr", 0, "phrygian"),
        ("none", None, ""),
        ("HP", 2, "mixolydian"),
    ],
)
def test_keys(tmp_path: Path, key: str, fifths: int | None, mode: str) -> None:
    """3.1.14."""
    line = _line(tmp_path, "A", f"M:none\nL:1/4\nK:{key}\n")
    assert (line.fifths, line.mode) == (fifths, mode)


def test_a_key_alters_and_a_natural_lifts_it(tmp_path: Path) -> None:
    assert _names(_line(tmp_path, "f c =f f | f", "M:none\nL:1/4\nK:D\n")) == ["F#5", "C#5", "F5", "F5", "F#5"]
    assert _names(_line(tmp_path, "c f [K:Bb] b e [K:D] f")) == ["C5", "F5", "Bb5", "Eb5", "F#5"]
    assert _names(_line(tmp_path, "f g", "M:none\nL:1/4\nK:D exp _b ^g\n")) == ["F5", "G#5"]


def test_unmetered_stays_unmetered(tmp_path: Path) -> None:
    assert _line(tmp_path, "A B | c4 | d").meters == ()
    assert _line(tmp_path, "A B | c4 |", "L:1/4\nK:C\n").meters == ()


def test_meters_and_their_downbeats(tmp_path: Path) -> None:
    line = _line(tmp_path, "A | B2 c | d3 | [M:2/4] e2 | f2 |", "M:3/4\nL:1/4\nK:C\n")
    assert line.meters == ((0.0, Meter(3, 4, 1.0)), (7.0, Meter(2, 4, 7.0)))
    assert _line(tmp_path, "A4", "M:C|\nL:1/4\nK:C\n").meter == Meter(2, 2, 0.0)


def test_every_sign_of_a_breath_is_kept(tmp_path: Path) -> None:
    """4.8 (bar lines, `.|` dotted) and 4.14 (decorations stand before their note)."""
    line = _line(tmp_path, "A !breath!B c .| d || !fermata!e f !breath! | g Ha |")
    assert [tone.marks.break_after for tone in line] == ["", "breath", "dotted-bar", "double-bar", "", "breath", "", ""]
    assert [tone.marks.fermata for tone in line] == [False] * 4 + [True, False, False, True]
    assert not any("staccato" in tone.marks.articulations for tone in line)


def test_a_sign_over_a_rest_is_a_breath_after_the_tone_before(tmp_path: Path) -> None:
    line = _line(tmp_path, "A !fermata!z2 (.B !breath!z c) | d")
    assert [tone.marks.break_after for tone in line] == ["caesura", "breath", "", ""]
    assert not any(tone.marks.fermata for tone in line)
    assert line[1].marks.slur_starts == line[2].marks.slur_stops == 1


def test_the_other_signs(tmp_path: Path) -> None:
    """4.14, 4.11, 4.12 and 4.20."""
    line = _line(tmp_path, "{ga}Tf .e (Ld c) !mf!!crescendo(!B !turn!A !crescendo)!G [CEG] ~F {g}u!tenuto!E")
    tones = [tone for tone in line if not tone.grace]
    assert [tone.pitch.name for tone in line if tone.grace] == ["G5", "A5", "G5"]
    assert tones[0].marks.ornaments == ("trill-mark",)
    assert tones[1].marks.articulations == ("staccato",)
    assert (tones[2].marks.slur_starts, tones[3].marks.slur_stops) == (1, 1)
    assert tones[2].marks.articulations == ("accent",)
    assert tones[4].marks.dynamic == "mf"
    assert [tone.marks.hairpin for tone in tones[4:7]] == ["crescendo", "crescendo", ""]
    assert tones[5].marks.ornaments == ("turn",)
    assert [pitch.name for pitch in tones[7].marks.chord_below] == ["E4", "C4"]
    assert tones[8].marks.ornaments == ("other-ornament",)
    assert tones[9].marks.articulations == ("up-bow", "tenuto")
    assert any("1 chord" in note for note in line.notes)


def test_words_below_the_notes(tmp_path: Path) -> None:
    """5.1: `-` divides, `_` holds, `*` skips, `~` joins, `|` goes to the next bar."""
    line = _line(tmp_path, "A B c d | e f g | a\nw: Ky-ri-e _ | o~my * lord | come")
    assert [tone.marks.word for tone in line] == ["Ky-", "ri-", "e", "", "o my", "", "lord", "come"]


def test_voices_are_parts(tmp_path: Path) -> None:
    """7: `V:` on lines of its own and in brackets."""
    path = tmp_path / "duet.abc"
    path.write_text('X:1\nM:2/4\nL:1/4\nK:C\nV:1 name="Flute"\nV:2\nV:1\nc d|\n[V:2] C D|[V:1] e f|\nV:2\nE F|\n')
    assert _names(load_line(path)) == ["C5", "D5", "E5", "F5"]
    assert _names(load_line(path, part=2)) == ["C4", "D4", "E4", "F4"]


def test_an_overlay_is_a_second_voice_and_said(tmp_path: Path) -> None:
    """7.4: `&` goes back to the bar's start."""
    line = _line(tmp_path, "z2 c2 & E F z2 | d4 & D4", "M:4/4\nL:1/4\nK:C\n")
    assert [(tone.onset, tone.pitch.name) for tone in line] == [(0, "E4"), (1, "F4"), (2, "C5"), (4, "D5")]
    assert any("Several voices" in note and "2 tones" in note and "1 are left out" in note for note in line.notes)


def test_a_transposing_clef_and_field(tmp_path: Path) -> None:
    """4.6: `transpose=` in semitones; the written pitch is kept."""
    line = _line(tmp_path, "d e", "M:none\nL:1/4\nK:D transpose=-2\n")
    assert _names(line) == ["C5", "D5"]
    assert [tone.written.name if tone.written else "" for tone in line] == ["D5", "E5"]
    assert line.fifths == 0


def test_comments_fields_and_text_make_no_notes(tmp_path: Path) -> None:
    body = '%%MIDI program 40\n"Am"A "^dolce"B % abc d e f\nN:a note about g\n% a comment\nc\\\nd'
    assert _names(_line(tmp_path, body)) == ["A4", "B4", "C5", "D5"]


def test_a_book_of_tunes(tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    path.write_text("X:3\nT:Rain\nM:2/4\nL:1/4\nK:C\nc d|\n\nX:7\nT:Snow\nM:2/4\nL:1/4\nK:C\ne f|\n")
    assert list_tunes(path) == ((3, "Rain"), (7, "Snow"))
    assert _names(load_line(path, tune=7)) == ["E5", "F5"]
    assert load_line(path, tune="Snow").title == "Snow"


@pytest.mark.parametrize(
    ("field", "tempo"), [("1/4=90", 90.0), ('"Slow" 3/8=40', 60.0), ("1/2=30", 60.0), ("Andante", None)]
)
def test_tempo(tmp_path: Path, field: str, tempo: float | None) -> None:
    """3.1.8."""
    assert _line(tmp_path, "A", f"M:none\nL:1/4\nQ:{field}\nK:C\n").tempo == tempo


@pytest.mark.parametrize("name", ["han1", "boehme10", "altdeu10"])
def test_the_notes_are_music21s(name: str) -> None:
    """An independent reader, told the ABC version, finds the same pitches and lengths in folk songs of its corpus."""
    from music21 import converter, corpus

    path = Path(corpus.getWork(f"essenFolksong/{name}"))
    texts = path.read_text("utf-8", "replace").split("X:")[1:13]
    for (number, _), text in zip(list_tunes(path), texts, strict=False):
        line = load_line(path, tune=number)
        score = converter.Converter()
        score.parseData("%abc-2.1\nX:" + text, format="abc")
        tune = score.stream.scores[0] if hasattr(score.stream, "scores") else score.stream
        truth = [(n.pitch.midi, round(float(n.quarterLength), 6)) for n in tune.parts[0].stripTies().recurse().notes]
        assert [(tone.midi, round(tone.length, 6)) for tone in line] == truth
