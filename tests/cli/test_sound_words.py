"""The options for the sound on the command line: what they make of a file, and what is remembered."""

from __future__ import annotations

import sys
from itertools import pairwise
from pathlib import Path

import mido
import pytest

from earloop.cli.commands import main
from earloop.cli.sound_words import output_of
from earloop.cli.words import parser
from earloop.session.remembered import kept_in, remember, remembered
from earloop.session.sound_choices import TempoRamp, interval, moved, ramp_of
from earloop.sounding.outputs import OutputChoice

PHRASE = str(Path(__file__).parents[2] / "phrases" / "07-two-rooks.musicxml")


def notes(path: Path) -> list[tuple[float, int]]:
    now, found = 0.0, []
    for message in mido.MidiFile(path):
        now += message.time
        if message.type == "note_on" and message.velocity:
            found.append((now, message.note))
    return found


def test_a_ramp_in_a_midi_file_has_its_tempo_map(tmp_path: Path) -> None:
    """Passes at 60, 80 and 100 percent: mido reads three tempos, and pass lengths stand as 1/60 : 1/80 : 1/100."""
    words = ["render", PHRASE, "--layer", "ornamented", "--ramp", "60:100:20", "-o"]
    assert main([*words, str(tmp_path / "ramp.mid")]) == 0
    assert main(["render", PHRASE, "--layer", "ornamented", "-o", str(tmp_path / "plain.mid")]) == 0
    plain, ramp = notes(tmp_path / "plain.mid"), notes(tmp_path / "ramp.mid")
    tempos = [m.tempo for m in mido.MidiFile(tmp_path / "ramp.mid").tracks[0] if m.type == "set_tempo"]
    usual = [m.tempo for m in mido.MidiFile(tmp_path / "plain.mid").tracks[0] if m.type == "set_tempo"]
    assert tempos == pytest.approx([usual[0] / share for share in (0.6, 0.8, 1.0)], abs=1)
    assert [key for _, key in ramp] == 3 * [key for _, key in plain]
    count = len(plain)
    for number, share in enumerate((0.6, 0.8, 1.0)):
        one_pass = ramp[number * count : (number + 1) * count]
        lengths = [(b - a) * share for (a, _), (b, _) in pairwise(one_pass)]
        assert lengths == pytest.approx([b - a for (a, _), (b, _) in pairwise(plain)], abs=0.002)


def test_transposition_and_tuning_reach_the_file(tmp_path: Path) -> None:
    """A fourth lower, and A4 = 415 Hz as a pitch bend of -101.3 cents (1200 log2(415/440)) within two semitones."""
    assert main(["render", PHRASE, "-o", str(tmp_path / "plain.mid")]) == 0
    assert main(["render", PHRASE, "--transpose=-P4", "--a4", "415", "-o", str(tmp_path / "low.mid")]) == 0
    assert [key for _, key in notes(tmp_path / "low.mid")] == [key - 5 for _, key in notes(tmp_path / "plain.mid")]
    bends = {m.pitch for m in mido.MidiFile(tmp_path / "low.mid") if m.type == "pitchwheel"}
    assert round(-101.27 / 200 * 8192) in bends


def test_just_intervals_reach_the_file(tmp_path: Path) -> None:
    """Over the home tonic G the B is 13.7 cents lower (5/4 against 400 cents): its bend says so."""
    assert main(["render", PHRASE, "--layer", "ornamented", "--just", "-o", str(tmp_path / "just.mid")]) == 0
    bends = {m.pitch for m in mido.MidiFile(tmp_path / "just.mid") if m.type == "pitchwheel"}
    assert round(-13.686 / 200 * 8192) in bends


def test_a_very_slow_file_keeps_its_time(tmp_path: Path) -> None:
    """A Standard MIDI File holds no tempo below 3.6 quarters a minute: the notes are in time all the same."""
    book = tmp_path / "slow.abc"
    book.write_text("X:1\nT:Slow\nM:4/4\nL:1/4\nQ:1/4=20\nK:C\nCDEF|\n", encoding="utf-8")
    words = ["render", str(book), "--layer", "ornamented", "--tempo", "10", "-o", str(tmp_path / "slow.mid")]
    assert main(words) == 0
    assert [at for at, _ in notes(tmp_path / "slow.mid")] == pytest.approx([0.0, 30.0, 60.0, 90.0], abs=0.01)


@pytest.mark.parametrize(
    ("words", "semitones"),
    [("-12", -12), ("3", 3), ("+3", 3), ("P8", 12), ("-m3", -3), ("+M6", 9), ("A4", 6)],
)
def test_intervals_by_number_or_name(words: str, semitones: int) -> None:
    """The names and sizes of intervals as any theory primer has them (common practice)."""
    assert interval(words) == semitones


@pytest.mark.parametrize("words", ["", "P", "x", "--3", "m5", "1.5"])
def test_what_is_no_interval(words: str) -> None:
    with pytest.raises(ValueError, match="no interval"):
        interval(words)


def test_moves_in_words() -> None:
    assert [moved(steps) for steps in (0, -12, 7, 27)] == [
        "as written",
        "an octave lower",
        "a fifth higher",
        "2 octaves and a minor third higher",
    ]


def test_without_the_midi_library_it_is_said_how_to_have_it(monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    """As on a Python for which it comes without a wheel: nothing is told to be plugged in; all else goes on."""
    monkeypatch.setitem(sys.modules, "rtmidi", None)
    assert main(["play", PHRASE, "--out", "midi:synth"]) == 2
    told = capsys.readouterr().err
    assert "pip install python-rtmidi" in told
    assert "or choose another output" in told
    assert "plug" not in told
    assert told.count("\n") == 1
    assert main(["ports"]) == 0
    assert "pip install python-rtmidi" in capsys.readouterr().out


def test_a_ramp_knows_its_passes() -> None:
    assert ramp_of("60:100:5") == TempoRamp(60, 100, 5)
    assert [TempoRamp(60, 100, 5).passes, TempoRamp(60, 101, 5).passes, TempoRamp(100, 60, 20).passes] == [9, 10, 3]


def test_an_output_is_remembered() -> None:
    """Everything about it comes back; the command line's own words come before it."""
    choice = OutputChoice(
        "midi", "Organ", True, True, (("upper", 4),), (("lower", 11),), listen="Pedal", soundfont="/music/own.sf2"
    )
    assert remembered() == OutputChoice()
    assert remember(choice)
    assert remembered() == choice
    assert output_of(parser().parse_args(["play", PHRASE])) == choice
    words = ["play", PHRASE, "--out", "none", "--listen", "Keys", "--channel", "upper=2", "--program", "drone=20"]
    told = output_of(parser().parse_args(words))
    assert (told.kind, told.port, told.listen) == ("silent", "", "Keys")
    assert told.channels == (("upper", 1),)
    assert dict(told.programs) == {"lower": 11, "drone": 19}


@pytest.mark.parametrize(
    "text", ["", "output = 3", "output = 'midi'", "[programs]\nupper = 'x'\nlower = 500", "not toml [", "\x00"]
)
def test_a_file_that_makes_no_sense_is_as_none(text: str) -> None:
    kept_in().parent.mkdir(parents=True)
    kept_in().write_text(text, encoding="utf-8")
    assert remembered() == OutputChoice()


def test_a_folder_that_cannot_be_written_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "a file").write_text("in the way", encoding="utf-8")
    assert not remember(OutputChoice("silent"), tmp_path / "a file" / "sound.toml")
