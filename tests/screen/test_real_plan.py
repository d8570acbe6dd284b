"""A plan in a real terminal of 80 × 24: steps follow one another, and the journal has them when it ends."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest
from test_real_terminal import Terminal

from earloop.journal import Journal

pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for the engine's process in /proc (Linux)")


@pytest.fixture
def terminal(tmp_path):
    tune = tmp_path / "short.abc"
    tune.write_text("X:1\nT:Short\nM:4/4\nL:1/4\nQ:1/4=200\nK:C\nC D E F|G4|]\n", encoding="utf-8")
    (tmp_path / "earloop").mkdir()
    (tmp_path / "earloop" / "cautions-shown").touch()
    opened = Terminal(tune, tmp_path)
    yield opened
    opened.child.close(force=True)


def test_a_plan_is_gone_through_and_noted(terminal, journal_file: Path):
    """Two steps of one pass each, hearing and then playing; then out: both are noted."""
    terminal.wait(lambda text: "stopped" in text)
    terminal.child.send("D")
    terminal.wait(lambda text: "minutes planned" in text and "hear" in text)
    terminal.child.send("\x1b[D" * 3 + "+" * 10)
    terminal.wait(lambda text: "1 pass " in text and "130 %" in text)
    terminal.child.send("\x1b[B\x1b[B" + "\x1b[D" * 9 + "+" * 10)
    terminal.wait(lambda text: text.count("130 %") == 2)
    terminal.child.send("u")
    terminal.wait(lambda text: "2  skeleton     play     1 pass    130 %" in text)
    terminal.child.send("\x1b[A\r")
    terminal.wait(lambda text: "Plan, step 1 of" in text)
    terminal.wait(lambda text: "Next: play" in text)
    terminal.wait(lambda text: "Plan, step 2 of" in text)
    terminal.wait(lambda text: "Plan, step 3 of" in text)
    terminal.child.send("q")
    assert terminal.ended() == 0
    with Journal.open() as journal:
        played = journal.happenings()
    assert [(h.what, h.detail["passes"], h.detail["tempo"]) for h in played[:2]] == [("skeleton", 1, 130)] * 2
    assert [h.detail["answer_gap"] for h in played[:2]] == [False, True]


def test_what_plays_is_noted_when_the_terminal_goes(terminal, journal_file: Path):
    """A hang-up in the middle of a loop: the spell up to then is in the journal."""
    terminal.wait(lambda text: "stopped" in text)
    terminal.child.send(" ")
    terminal.wait(lambda text: "playing" in text)
    terminal.child.send("J")
    terminal.wait(lambda text: "minutes a day" in text and "in all" in text)
    terminal.child.send("2")
    terminal.wait(lambda text: "phrase 1, share right" in text)
    time.sleep(1.2)  # less would be a key pressed in passing, not practice
    os.kill(terminal.child.pid, signal.SIGHUP)
    terminal.ended()
    with Journal.open() as journal:
        (played,) = journal.happenings()
    assert played.what == "skeleton"
    assert played.seconds >= 1
