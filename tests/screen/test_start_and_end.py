"""Starting is quick because heavy libraries wait, and the player is closed whatever ends the screen."""

from __future__ import annotations

import subprocess
import sys

import pytest
from screen_player import FakePlayer

from earloop.screen import app as screen_app


def test_nothing_heavy_is_imported_at_the_start():
    """The score, sound and MIDI libraries come after the first frame (a test of its own process)."""
    said = subprocess.run(
        [sys.executable, "-c", "import earloop.screen.app, sys; print(*sys.modules)"],
        capture_output=True, text=True, check=True,
    ).stdout.split()  # fmt: skip
    assert "textual.app" in said
    for heavy in ("music21", "miniaudio", "mido", "rtmidi", "numpy", "earloop.line"):
        assert heavy not in said


def test_a_fault_closes_the_player(monkeypatch):
    """An exception out of the screen goes on its way, after silence."""
    player = FakePlayer()

    def break_down(app: screen_app.EarloopApp) -> None:
        app.player = player
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr(screen_app.EarloopApp, "run", break_down)
    monkeypatch.setattr(screen_app, "first_start", lambda: False)
    with pytest.raises(RuntimeError, match="a fault of ours"):
        screen_app.run_screen()
    assert player.closed
