"""The command line as a user meets it: output, sentences, exit codes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from earloop.cli.commands import main

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
        (["render", PHRASE, "--ramp", "60:100:5", "--tempo", "50", "-o", "x.mid"], "leave --tempo out"),
        (["render", PHRASE, "--soundfont", "none.sf2", "-o", "x.wav"], "no SoundFont none.sf2"),
        ([PHRASE, "--soundfont", "none.sf2"], "no SoundFont none.sf2"),
        (["play", PHRASE, "--phrase", "99"], "no phrase 99"),
        (["render", PHRASE, "-o", "x.txt"], "name it .mid"),
        (["render", PHRASE, "-o", "no-such-folder/x.mid"], "no folder"),
        (["read", PHRASE, "--part", "Tuba"], "Tuba"),
        (["read", str(ROOT / "tests")], "no scores"),
        (["read", PHRASE, "--from", "90", "--to", "91"], "90"),
    ],
)
def test_bad_input_gets_one_sentence_and_exit_code_2(words, said, capsys) -> None:
    assert main(words) == 2
    err = capsys.readouterr().err
    assert said in err
    assert len(err.strip().splitlines()) == 1


@pytest.mark.parametrize("words", [["fly"], ["play", PHRASE, "--layer", "loud"], ["read", PHRASE, "--part"]])
def test_unknown_words_exit_with_2(words, capsys) -> None:
    try:
        code = main(words)
    except SystemExit as leaving:
        code = leaving.code
    assert code == 2
    assert capsys.readouterr().err


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
