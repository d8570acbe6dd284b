"""`earloop check` as a user meets it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from earloop.cli.commands import main

PHRASE = str(Path(__file__).parents[2] / "phrases" / "07-two-rooks.musicxml")


@pytest.fixture(scope="module")
def take(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = str(tmp_path_factory.mktemp("takes") / "take.wav")
    assert main(["render", PHRASE, "--layer", "upper", "-o", path]) == 0
    return path


def test_json_has_a_verdict_for_each_tone_in_order(take: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", PHRASE, "--layer", "upper", "--take", take, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {
        "tones",
        "extra",
        "drift_cents",
        "lag_ms",
        "reference_cents",
        "tolerance_cents",
        "on_the_beat",
        "say",
    } == set(told)
    assert [tone["index"] for tone in told["tones"]] == list(range(len(told["tones"])))
    fixed = ["index", "degree", "verdict", "sung_degree", "cents", "late_ms"]
    assert list(told["tones"][0]) == [*fixed, "held"]
    assert {tone["verdict"] for tone in told["tones"]} == {"right"}


def test_another_layer_is_not_right(take: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", PHRASE, "--layer", "lower", "--take", take]) == 0
    out = capsys.readouterr().out
    assert out.splitlines()[0].split() == ["tone", "degree", "verdict", "sung", "cents", "late", "ms", "held"]
    assert "wrong" in out or "missed" in out


@pytest.mark.parametrize("name", ["none.wav", "words.wav", "words.txt", "empty.mp3"])
def test_a_bad_recording_is_one_sentence(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if not name.startswith("none"):
        (tmp_path / name).write_text("" if name.startswith("empty") else "no sound " * 50)
    assert main(["check", PHRASE, "--take", str(tmp_path / name)]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert name in error


def test_an_unreachable_tolerance_is_refused(take: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", PHRASE, "--take", take, "--tolerance", "400"]) == 2
    assert "1 to 100" in capsys.readouterr().err


def test_the_metronome_counts_only_where_asked(take: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A take at the score's own tempo, asked for half as fast: each tone later than the last is ever earlier."""
    words = ["check", PHRASE, "--layer", "upper", "--take", take, "--json", "--tempo", "50"]
    assert main(words) == 0
    free = json.loads(capsys.readouterr().out)
    assert main([*words, "--beat"]) == 0
    timed = json.loads(capsys.readouterr().out)
    late = [tone["late_ms"] for tone in timed["tones"] if tone["late_ms"] is not None]
    assert late[0] == 0
    assert late == sorted(late, reverse=True)
    assert late[-1] < -1000
    assert max(abs(tone["late_ms"]) for tone in free["tones"] if tone["late_ms"] is not None) < 300
    assert [t["verdict"] for t in free["tones"]] == [t["verdict"] for t in timed["tones"]]
    assert "early" in timed["say"]
    with pytest.raises(SystemExit):
        main([*words, "--in-time"])


@pytest.mark.parametrize(("word", "value"), [("--held", "0"), ("--tempo", "5")])
def test_an_unreachable_measure_is_refused(
    word: str, value: str, take: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", PHRASE, "--take", take, word, value]) == 2
    assert "choose" in capsys.readouterr().err
