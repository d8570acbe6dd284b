"""`earloop sing`: sounds, listens, and tells; refuses calmly. The voice is a recording at the pace of the clock."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from earloop.cli.commands import main
from earloop.cli.refusal import Refusal
from tests.capture.rooms import melody, sung_file
from tests.session.fake_player import FakePlayer
from tests.system_parts import no_port_told

TUNE = """X:1
T:Over the Sill
M:none
L:1/4
K:D
D F A G D |]
"""


@pytest.fixture
def tune(tmp_path: Path) -> Path:
    path = tmp_path / "tune.abc"
    path.write_text(TUNE, encoding="utf-8")
    return path


def earloop(*words: object, home: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "earloop", "sing", *map(str, words), "--out", "none"]
    place = {"EARLOOP_JOURNAL": str(home / "journal.sqlite"), "PATH": "", "PYTHONPATH": str(Path(__file__).parents[2])}
    return subprocess.run(command, capture_output=True, text=True, timeout=60, env=place)


def test_a_pass_is_told_tone_by_tone_kept_and_noted(tune: Path, tmp_path: Path) -> None:
    """The line lasts 5 quarters at 72 x 3: 1.4 s. The voice begins in its gap, one tone 60 cents sharp."""
    events = melody(62, 66, 69, 67, 62)
    from tests.hearing import takes

    song = sung_file(tmp_path / "song.wav", takes.cents_off(events, 1), before=2.2, tempo=110)
    words = ("--layer", "ornamented", "--tempo", 300, "--way", "own-time", "--json", "--keep", tmp_path / "mine.wav")
    done = earloop(tune, *words, "--input", f"file:{song}", home=tmp_path)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert [tone["verdict"] for tone in told["tones"]] == ["right", "wrong", "right", "right", "right"]
    assert told["tones"][1]["cents"] == pytest.approx(60, abs=20)
    assert set(told["tones"][0]) == {"index", "degree", "verdict", "sung_degree", "cents", "late_ms", "held"}
    assert "headphones" in done.stderr
    assert "stop at pain" in done.stderr
    assert (tmp_path / "mine.wav").stat().st_size > 48000
    log = [sys.executable, "-m", "earloop", "log", "--json"]
    place = {"EARLOOP_JOURNAL": str(tmp_path / "journal.sqlite"), "PYTHONPATH": str(Path(__file__).parents[2])}
    noted = json.loads(subprocess.run(log, capture_output=True, text=True, env=place, check=True).stdout)
    sung = [row for row in noted if row["kind"] == "sung"]
    assert [(row["item"], row["result"]) for row in sung] == [("layer:ornamented", 0.8)]
    assert len(sung[0]["detail"]["tones"]) == 5


class Told(FakePlayer):
    """In the engine's place; it may be entered and left."""

    def __enter__(self) -> Told:
        return self

    def __exit__(self, *error: object) -> None:
        self.stop()


def test_a_ramp_brings_its_first_tempo(tune: Path, monkeypatch, capsys) -> None:
    """The player is at 60 percent when it is told to climb, and no tempo ends the climb."""
    player = Told()
    monkeypatch.setattr("earloop.cli.singing.Engine", lambda choice: player)
    assert main(["sing", str(tune), "--ramp", "60:100:5", "--out", "none", "--input", "none"]) == 2
    assert "nothing to listen to" in capsys.readouterr().err
    told = [(name, values) for name, values in player.asked if name in ("tempo", "ramp")]
    assert told[-2:] == [("tempo", (0.6,)), ("ramp", (1.0, 0.05))]


@pytest.mark.parametrize(("source", "name"), [("midi:keys", "take.mid"), ("desk", "take.wav")])
def test_a_take_is_never_kept_over_what_is_there(tune: Path, monkeypatch, capsys, source: str, name: str) -> None:
    """It is said before anything sounds; with --replace it goes on (here to a microphone that is not there)."""
    kept = tune.with_name(name)
    kept.write_text("my own", encoding="utf-8")
    monkeypatch.setattr("earloop.cli.singing.Engine", lambda choice: pytest.fail("it sounds already"))
    words = ["sing", str(tune), "--out", "none", "--input", source, "--keep", str(kept)]
    assert main(words) == 2
    assert f"{kept} is there already: choose another name, or add --replace" in capsys.readouterr().err
    assert kept.read_text(encoding="utf-8") == "my own"
    monkeypatch.setattr("earloop.cli.singing.Engine", lambda choice: Told())
    monkeypatch.setattr("earloop.cli.singing._wait_to_hear", nothing_there)
    assert main([*words, "--replace"]) == 2
    assert "nobody listens" in capsys.readouterr().err


def nothing_there(*_: object) -> None:
    raise Refusal("nobody listens")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--input", "file:nowhere.wav"), "no recording nowhere.wav"),
        (("--input", "midi:no such keyboard"), no_port_told("no MIDI port")),
        (("--input", "none"), "nothing to listen to"),
        (("--tolerance", "0"), "out of reach"),
        (("--passes", "0"), "--passes counts from 1"),
        (("--phrase", "9"), "there is no phrase 9"),
        (("--in-time",), "nothing here is called --in-time"),
        (("--input", "midi:keys", "--keep", "x.wav"), "a keyboard's take is kept as .mid: name it so"),
        (("--input", "desk", "--keep", "x.mid"), "a sung take is kept as .wav or .flac: name it so"),
        (("--keep", "nowhere/x.wav"), "there is no folder nowhere"),
    ],
)
def test_refusals_are_one_sentence(tune: Path, tmp_path: Path, words: tuple[str, ...], sentence: str) -> None:
    done = earloop(tune, *words, home=tmp_path)
    assert done.returncode == 2
    assert sentence in done.stderr
    assert done.stderr.count("\n") == 1
    assert not done.stdout
