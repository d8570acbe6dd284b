"""What was listened to last comes back with the next session; a file that makes no sense is no fault."""

from __future__ import annotations

from pathlib import Path

import pytest

from earloop.capture.sources import Source
from earloop.session.remembered_input import remember_input, remembered_input


@pytest.mark.parametrize(
    "source", [Source(), Source("microphone", 'USB "left"'), Source("midi", "Keys: out"), Source("nothing")]
)
def test_a_choice_comes_back(tmp_path: Path, source: Source) -> None:
    path = tmp_path / "new" / "listening.toml"
    remember_input(source, path)
    assert remembered_input(path) == source
    assert [entry.name for entry in path.parent.iterdir()] == [path.name]


def test_a_recording_is_not_remembered(tmp_path: Path) -> None:
    remember_input(Source("midi", "Keys"), tmp_path / "listening.toml")
    remember_input(Source("file", "take.wav"), tmp_path / "listening.toml")
    assert remembered_input(tmp_path / "listening.toml") == Source("midi", "Keys")


@pytest.mark.parametrize("text", ["", "input = 3", "no toml", "input = 'midi'", "name = 4"])
def test_what_makes_no_sense_is_the_microphone(tmp_path: Path, text: str) -> None:
    path = tmp_path / "listening.toml"
    path.write_text(text)
    assert remembered_input(path) == Source()


def test_a_place_that_cannot_be_written_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "in the way").write_text("")
    remember_input(Source("nothing"), tmp_path / "in the way" / "listening.toml")
