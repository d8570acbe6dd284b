"""The command line as a user meets it: output, sentences, exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from listening_port import ListeningPort

from earloop.cli.batch import answer
from earloop.cli.commands import main
from earloop.screen.keys import BY_ID
from earloop.session.remembered import remember, remembered
from earloop.sounding.outputs import OutputChoice

ROOT = Path(__file__).parents[2]
PHRASE = str(ROOT / "phrases" / "07-two-rooks.musicxml")


def test_read_prints_a_table(capsys) -> None:
    assert main(["read", PHRASE]) == 0
    rows = capsys.readouterr().out.splitlines()
    assert rows[0].startswith("Two Rooks: 25 tones")
    assert "G major" in rows[1]
    assert len([row for row in rows if row[:2].strip().isdigit()]) == 25


def test_read_prints_json(capsys) -> None:
    assert main(["read", PHRASE, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["tones"]) == 25
    assert told["tones"][0]["pitch"] == "G3"
    assert told["phrases"][-1][-1] == 24


def test_read_tells_the_reading_in_sentences(capsys) -> None:
    assert main(["read", PHRASE, "--describe"]) == 0
    out = capsys.readouterr().out
    assert all(row.endswith(".") for row in out.splitlines())
    assert "Phrase 1" in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["read", "nowhere.abc"], "nowhere.abc"),
        (["read"], "needs a score"),
        (["nowhere.abc"], "nowhere.abc"),
        (["play", PHRASE, "--tempo", "5"], "10 to 300"),
        (["play", PHRASE, "--out", "none", "--program", "upper=0"], "upper=0 is no program"),
        (["play", PHRASE, "--out", "none", "--program", "top=3"], "top=3 is no program"),
        (["play", PHRASE, "--out", "none", "--channel", "upper=17"], "upper=17 is no channel"),
        (["play", PHRASE, "--out", "none", "--a4", "300"], "415 to 466"),
        (["render", PHRASE, "--transpose", "Q5", "-o", "x.mid"], "no interval"),
        (["render", PHRASE, "--transpose", "-99", "-o", "x.mid"], "too far"),
        (["render", PHRASE, "--ramp", "60-100", "-o", "x.mid"], "such as 60:100:5"),
        (["render", PHRASE, "--ramp", "60:400:5", "-o", "x.mid"], "10 to 300"),
        (["render", PHRASE, "--ramp", "60:100:0", "-o", "x.mid"], "step"),
        (["render", PHRASE, "--ramp", "100:60:5", "-o", "x.mid"], "put the slower tempo first, 60:100:5"),
        (["play", PHRASE, "--out", "none", "--ramp", "80:79:5"], "one from 80 never comes to 79 percent"),
        (["render", PHRASE, "--ramp", "60:100:5", "--tempo", "50", "-o", "x.mid"], "leave --tempo out"),
        (["render", PHRASE, "--soundfont", "none.sf2", "-o", "x.wav"], "no SoundFont none.sf2"),
        ([PHRASE, "--soundfont", "none.sf2"], "no SoundFont none.sf2"),
        (["play", PHRASE, "--phrase", "99"], "no phrase 99"),
        (["render", PHRASE, "-o", "x.txt"], "name it .mid"),
        (["render", PHRASE, "-o", "no-such-folder/x.mid"], "no folder"),
        (["read", PHRASE, "--part", "Tuba"], "Tuba"),
        (["read", str(ROOT / "tests")], "no scores"),
        (["read", PHRASE, "--from", "90", "--to", "91"], "90"),
        (["read", PHRASE, "-o", "x.jsonl"], "-o is for a folder"),
        (["sing", PHRASE, "--keep", "no-such-folder/x.wav"], "no folder no-such-folder"),
    ],
)
def test_bad_input_gets_one_sentence_and_exit_code_2(words, said, capsys) -> None:
    assert main(words) == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["fly"], "no file fly"),
        (["fly", PHRASE], "no command fly"),
        (["play", PHRASE, "--layer", "loud"], "--layer can't be loud: choose skeleton, upper"),
        (["play", PHRASE, "--depth", "9"], "--depth can't be 9: choose 0, 1"),
        (["play", PHRASE, "--tempo", "quick"], "--tempo can't be quick: give a whole number"),
        (["check", PHRASE, "--take", "x.wav", "--tolerance", "wide"], "can't be wide: give a number"),
        (["read", PHRASE, "--part"], "missing after --part"),
        (["play"], "needs FILE"),
        (["render", PHRASE], "needs -o/--output"),
        (["play", PHRASE, "--loud"], "--loud"),
        (["log", "--csv", "--json"], "don't go together"),
        (["play", PHRASE, "--t", "5"], "--tempo"),
    ],
)
def test_unknown_words_get_one_sentence_and_exit_code_2(words, said, capsys) -> None:
    """Not the whole list of what could have been written, and none of the parser's own terms."""
    try:
        code = main(words)
    except SystemExit as leaving:
        code = leaving.code
    assert code == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.strip().splitlines()) == 1
    assert not any(word in err for word in ("usage", "argument", "int value"))


@pytest.mark.parametrize("content", ["", "no such thing"])
def test_what_is_no_soundfont_is_refused(content, tmp_path, capsys) -> None:
    """SoundFont 2.04: a RIFF file of the form sfbk."""
    (tmp_path / "own.sf2").write_text(content, encoding="ascii")
    assert main(["render", PHRASE, "--soundfont", str(tmp_path / "own.sf2"), "-o", "x.wav"]) == 2
    assert "is no SoundFont" in capsys.readouterr().err


def test_an_empty_score_and_a_folder_are_told_once(tmp_path, capsys) -> None:
    """The sentence says what is wrong, not that it could not be read because it is wrong."""
    (tmp_path / "empty.abc").touch()
    for words, said in ((["play", str(tmp_path / "empty.abc")], "is empty"), (["play", str(tmp_path)], "is a folder")):
        assert main(words) == 2
        err = capsys.readouterr().err
        assert said in err
        assert "cannot be read" not in err


def test_play_sounds_to_nothing_and_ends(capsys) -> None:
    assert main(["play", PHRASE, "--layer", "skeleton", "--phrase", "1", "--tempo", "300", "--out", "none"]) == 0
    assert "skeleton" in capsys.readouterr().out


def test_batch_answers_every_row_and_names_bad_ones() -> None:
    rows = [
        json.dumps({"id": "a", "tones": [{"onset": k, "length": 1, "midi": 60 + k} for k in range(5)], "meter": None}),
        '{"id": "b", "tones": []}',
        "nonsense",
        json.dumps({"id": "c", "tones": [{"onset": 0, "length": 1, "midi": 61, "spelling": "C4"}]}),
        json.dumps(
            {
                "id": "d",
                "tones": [{"onset": 0, "length": 1, "midi": 66, "spelling": "F#4"}],
                "key": {"fifths": 2, "mode": "major"},
            }
        ),
    ]
    done = subprocess.run(
        [sys.executable, "-m", "earloop", "read", "--batch"],
        input="\n".join(rows),
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    answers = [json.loads(row) for row in done.stdout.splitlines()]
    assert done.returncode == 1
    assert [answer["id"] for answer in answers] == ["a", "b", None, "c", "d"]
    assert ["error" in answer for answer in answers] == [False, True, True, True, False]
    assert {"phrase_ends", "tonic", "weights", "lines", "degrees", "figures"} <= set(answers[0])
    assert answers[4]["degrees"] == ["3"]
    assert answers[4]["tonic"]["pc"] == 2


def test_a_batch_row_may_say_what_sounds_with_the_line() -> None:
    """A third C-E filled over C major passes; over D minor with the bass moved the same tone belongs to its chord."""
    tones = [
        {"onset": k / 2, "length": (1, 1, 2, 4)[k] / 2, "midi": midi, "spelling": name}
        for k, (midi, name) in enumerate(((72, "C5"), (74, "D5"), (76, "E5")))
    ]
    held = [{"onset": 0, "length": 3, "midi": midi} for midi in (48, 64, 67)]
    moved = [
        {"onset": at, "length": 0.5, "midi": midi} for at, keys in ((0, (48, 64)), (0.5, (50, 65))) for midi in keys
    ]
    row = {"tones": tones, "meter": {"beats": 4, "unit": 4}, "key": {"fifths": 0, "mode": "major"}}
    named = [columns(json.dumps({**row, "others": others}))["figures"][1] for others in (held, moved)]
    assert named == ["passing", "structural"]
    assert columns(json.dumps({**row, "others": held[::-1]})) == columns(json.dumps({**row, "others": held}))
    for bad, words in (
        ([{"onset": 0, "length": -1, "midi": 60}], "out of range"),
        ([{"onset": 0, "length": 1, "midi": 61, "spelling": "C4"}], "is not MIDI key 61"),
        ([{"onset": 0, "midi": 60}], "lacks 'length'"),
        ({"onset": 0}, "others must be a list"),
    ):
        assert words in columns(json.dumps({**row, "others": bad}))["error"]


def columns(row: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(answer(row)[0])
    return found


def test_batch_on_two_processes_gives_the_same_in_the_same_order() -> None:
    rows = [
        json.dumps({"id": k, "tones": [{"onset": i, "length": 1, "midi": 60 + (i * k) % 12} for i in range(12)]})
        for k in range(20)
    ]
    outs = [
        subprocess.run(
            [sys.executable, "-m", "earloop", "read", "--batch", "--jobs", jobs],
            input="\n".join(rows),
            capture_output=True,
            text=True,
            cwd=ROOT,
        ).stdout
        for jobs in ("1", "2")
    ]
    assert outs[0] == outs[1]
    assert len(outs[0].splitlines()) == 20


def test_a_folder_is_read_resumably_and_one_bad_file_stops_nothing(tmp_path: Path) -> None:
    for name in ("01-the-gate-at-dawn.abc", "02-two-steps-to-the-spring.abc"):
        (tmp_path / name).write_text((ROOT / "phrases" / name).read_text())
    (tmp_path / "bad.mid").write_bytes(b"junk")
    out = tmp_path / "readings.jsonl"
    assert main(["read", str(tmp_path), "-o", str(out)]) == 1
    first = out.read_text()
    assert [("error" in json.loads(row)) for row in first.splitlines()] == [False, False, True]
    out.write_text(first[: len(first.splitlines()[0]) + 20])
    main(["read", str(tmp_path), "-o", str(out)])
    assert out.read_text() == first


def test_a_line_gets_its_general_midi_program() -> None:
    """General MIDI 1 counts programs from 1 (74 is the flute); MIDI 1.0 sends them from 0."""
    from earloop.cli.named import output_named

    assert output_named("Piano", ["upper=74", "lower=43"]).programs == (("upper", 73), ("lower", 42))


def test_nothing_is_written_over_what_is_read(tmp_path, capsys) -> None:
    """A score named as the new file too stays as it was."""
    score = tmp_path / "tune.musicxml"
    score.write_bytes((ROOT / "phrases" / "07-two-rooks.musicxml").read_bytes())
    before = score.read_bytes()
    assert main(["render", str(score), "-o", str(tmp_path / "." / "tune.musicxml")]) == 2
    assert "another name" in capsys.readouterr().err
    assert score.read_bytes() == before


@pytest.mark.parametrize("content", ["X:1\nK:C\nCDE", "X:1\nK:C\nCDE\n", "no end of a line"])
def test_readings_of_a_folder_spare_a_file_of_another_kind(content, tmp_path, capsys) -> None:
    """Not even its last line, which has no end and so could be a row that a crash cut short."""
    (tmp_path / "tune.abc").write_text("X:1\nK:C\nCDEF GABc|\n", encoding="utf-8")
    other = tmp_path / "other.txt"
    other.write_text(content, encoding="utf-8")
    assert main(["read", str(tmp_path), "-o", str(other)]) == 2
    assert "something other" in capsys.readouterr().err
    assert other.read_text(encoding="utf-8") == content


@pytest.mark.parametrize("name", ["x.wav", "x.flac", "x.ogg", "x.mid", "x.musicxml"])
def test_a_file_that_cannot_be_written_is_said_in_one_sentence(name, tmp_path, capsys) -> None:
    """And nothing of a half-made writer is heard of afterwards."""
    (tmp_path / name).mkdir()
    assert main(["render", PHRASE, "-o", str(tmp_path / name)]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1


def test_a_folder_for_readings_that_is_not_there_is_said(tmp_path, capsys) -> None:
    (tmp_path / "tune.abc").write_text("X:1\nK:C\nCDEF GABc|\n", encoding="utf-8")
    assert main(["read", str(tmp_path), "-o", str(tmp_path / "none" / "x.jsonl")]) == 2
    assert "can't be written" in capsys.readouterr().err


@pytest.mark.parametrize(("name", "said"), [("tune.abc", "a sung take is kept"), ("first.wav", "is there already")])
def test_a_take_is_never_written_over_what_is_there(name, said, tmp_path, capsys) -> None:
    """A score, or an earlier take."""
    (tmp_path / name).write_text("kept", encoding="utf-8")
    assert main(["sing", PHRASE, "--out", "none", "--keep", str(tmp_path / name)]) == 2
    assert said in capsys.readouterr().err
    assert (tmp_path / name).read_text(encoding="utf-8") == "kept"


@pytest.mark.jack
@pytest.mark.parametrize("option", ["--out", "--listen"])
@pytest.mark.parametrize("command", ["play", "sing", "ask"])
def test_a_port_named_that_is_not_there(command, option, jack, capsys) -> None:
    """A name typed wrongly must not play in silence to the end: one sentence names the ports there are."""
    elsewhere = [] if option == "--out" else ["--out", "none"]
    with ListeningPort("organ"):
        assert main([command, PHRASE, *elsewhere, option, "Nowhere"]) == 2
    said = capsys.readouterr().err
    assert len(said.strip().splitlines()) == 1
    assert "no MIDI port is called 'Nowhere'" in said
    assert "earloop ports" in said
    assert option == "--listen" or "organ:in" in said


@pytest.mark.jack
def test_a_remembered_port_that_has_gone(jack, capsys, monkeypatch) -> None:
    """The speaker sounds, here into nowhere at its own pace, and one sentence says why."""
    remember(OutputChoice("midi", port="Organ"))
    monkeypatch.setattr("earloop.cli.sound_words.remembered", lambda: replace(remembered(), backend="null"))
    assert main(["play", PHRASE, "--layer", "skeleton", "--phrase", "1", "--tempo", "300"]) == 0
    told = capsys.readouterr()
    assert "no MIDI port is called 'Organ'" in told.err
    assert "the speaker sounds until it is there again" in told.err
    assert told.out.strip().endswith("speaker")


def test_a_score_that_is_not_there_names_the_key_that_chooses(capsys) -> None:
    """Without a file the library's first phrase opens; the chooser is a key away."""
    assert main(["nowhere.abc"]) == 2
    assert "there is no file nowhere.abc" in (told := capsys.readouterr().err)
    assert f"choose with {BY_ID['open'].written}" in told
