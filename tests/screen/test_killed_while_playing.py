"""kill -9 in the midst of a loop: what was played up to some seconds before is in the journal, and once."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from earloop.journal import Happening, Journal
from tests.screen import test_real_terminal
from tests.screen.test_real_terminal import Terminal, gone

pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="needs a pseudo-terminal and kill -9 (Linux)")
OFTEN = 1.0
"""Seconds between notes here, so that the tests needn't wait."""
LOST = OFTEN + 3.0
"""Seconds that a kill may take away: the last note's distance, and a busy machine's slowness."""
SOONER = f"from earloop.session import spell_time; spell_time.SO_FAR = {OFTEN}\n"
PLAY = SOONER + "import sys; from earloop.cli.commands import main; sys.exit(main(sys.argv[1:]))"


def noted() -> list[Happening]:
    with Journal.open() as journal:
        return journal.happenings()


def until_noted(journal_file: Path, seconds: float = 30.0) -> None:
    end = time.monotonic() + seconds
    while not (journal_file.exists() and noted()):
        assert time.monotonic() < end, "nothing is noted while it plays"
        time.sleep(0.1)


def test_a_killed_screen_has_noted_what_it_played(
    tune: Path, tmp_path: Path, journal_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(test_real_terminal, "PROGRAM", SOONER + test_real_terminal.PROGRAM)
    terminal = Terminal(tune, tmp_path)
    try:
        terminal.wait(lambda text: "Start soft" in text)
        terminal.child.send("\r")
        terminal.wait(lambda text: "phrase 1 of" in text and "stopped" in text)
        began = time.monotonic()
        terminal.child.send(" ")
        terminal.wait(lambda text: "playing" in text)
        until_noted(journal_file)
        time.sleep(2 * OFTEN)
        engines = terminal.engines()
        os.kill(terminal.child.pid, signal.SIGKILL)
        played = time.monotonic() - began
        assert gone(engines), "the sound went on"
    finally:
        terminal.child.close(force=True)
    (spell,) = noted()
    assert (spell.kind, spell.phrase) == ("played", 0)
    assert spell.score.endswith(tune.name)
    assert played - LOST < spell.seconds <= played


def test_a_killed_play_command_has_noted_what_it_played(tune: Path, journal_file: Path) -> None:
    words = ["play", str(tune), "--phrase", "1", "--loops", "1000", "--tempo", "80", "--out", "none"]
    began = time.monotonic()
    child = subprocess.Popen([sys.executable, "-c", PLAY, *words], stdout=subprocess.DEVNULL)
    try:
        until_noted(journal_file)
        time.sleep(2 * OFTEN)
    finally:
        child.kill()
        child.wait()
    played = time.monotonic() - began
    (spell,) = noted()
    assert (spell.kind, spell.item, spell.phrase) == ("played", "layer:skeleton", 0)
    assert spell.detail["tempo"] == 80
    assert 2 * OFTEN < spell.seconds <= played
