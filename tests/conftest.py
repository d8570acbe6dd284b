"""What all tests share: hypothesis without deadlines (machines differ), and what to do about missing parts."""

from __future__ import annotations

import os
from itertools import count
from pathlib import Path

import pytest
from hypothesis import settings
from jack_server import jack, mortal_jack
from system_parts import leave_out

__all__ = ["jack", "mortal_jack", "part_missing"]

# Where every part is promised, a change is judged by the same examples each time; elsewhere chance finds new ones.
settings.register_profile(
    "earloop", deadline=None, max_examples=40, derandomize=bool(os.environ.get("EARLOOP_ALL_PARTS"))
)
settings.load_profile("earloop")


@pytest.fixture
def part_missing():
    """Leave a test out with a sentence saying what to install; where every part is promised, fail instead."""
    return leave_out


_NUMBERS = count()


@pytest.fixture(scope="session")
def _journals(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("journals")


@pytest.fixture(autouse=True)
def journal_file(_journals: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test comes near the user's own journal and data: each has its own, also in the programs it starts."""
    number = next(_NUMBERS)
    path = _journals / f"{number}.sqlite"
    monkeypatch.setenv("EARLOOP_JOURNAL", str(path))
    monkeypatch.setenv("XDG_DATA_HOME", str(_journals / f"{number}-data"))
    return path


@pytest.fixture(autouse=True)
def _own_configuration(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Nothing a test chooses or decides is read from or written to the user's own files; no channel is taken."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path_factory.getbasetemp() / f"config-{next(_NUMBERS)}"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path_factory.getbasetemp() / f"data-{next(_NUMBERS)}"))
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.getbasetemp()))
