"""The real program in a pseudo-terminal: it shows, plays, is resized, and leaves no engine behind however it ends."""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

pytest.importorskip("pexpect", reason="pip install 'earloop[test]' brings pexpect")
import contextlib

import pexpect
import pyte

pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for the engine's process in /proc (Linux)")
PROGRAM = """
import sys
from pathlib import Path
from earloop.screen.app import run_screen
from earloop.sounding.outputs import SILENT
sys.exit(run_screen(Path(sys.argv[1]), output=SILENT))
"""


class Terminal:
    """The program in a terminal of `columns` × `rows`."""

    def __init__(self, path: Path, home: Path, columns: int = 80, rows: int = 24) -> None:
        kept = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
        surroundings = {**kept, "TERM": "xterm-256color", "XDG_STATE_HOME": str(home), "COLORTERM": "truecolor"}
        self.child = pexpect.spawn(
            sys.executable, ["-c", PROGRAM, str(path)], env=surroundings, dimensions=(rows, columns), timeout=5
        )
        self.screen = pyte.Screen(columns, rows)
        self.stream = pyte.ByteStream(self.screen)

    @property
    def text(self) -> str:
        return "\n".join(self.screen.display)

    def wait(self, holds: Callable[[str], bool], seconds: float = 20.0) -> str:
        """Feed the terminal until its text is as asked for."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            with contextlib.suppress(pexpect.TIMEOUT, pexpect.EOF):
                self.stream.feed(self.child.read_nonblocking(65536, timeout=0.1))
            if holds(self.text):
                return self.text
        raise AssertionError("never seen; the screen was:\n" + self.text)

    def resize(self, columns: int, rows: int) -> None:
        self.child.setwinsize(rows, columns)
        self.screen.resize(rows, columns)

    def engines(self) -> list[int]:
        """Processes the program has started."""
        found = []
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                try:
                    fields = (entry / "stat").read_text().rpartition(")")[2].split()
                except OSError:
                    continue
                if int(fields[1]) == self.child.pid and fields[0] != "Z":
                    found.append(int(entry.name))
        return found

    def ended(self, seconds: float = 10.0) -> int | None:
        """The exit code once the program has gone (128 + n by signal)."""
        until = time.monotonic() + seconds
        while self.child.isalive():
            assert time.monotonic() < until, "the program did not end"
            with contextlib.suppress(pexpect.TIMEOUT, pexpect.EOF):
                self.child.read_nonblocking(65536, timeout=0.05)
        return self.child.exitstatus if self.child.signalstatus is None else 128 + self.child.signalstatus


def gone(processes: list[int], seconds: float = 5.0) -> bool:
    """Whether all of them end within the time."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if not any(Path(f"/proc/{number}").exists() for number in processes):
            return True
        time.sleep(0.05)
    return False


@pytest.fixture
def terminal(tune, tmp_path):
    opened = Terminal(tune, tmp_path)
    yield opened
    opened.child.close(force=True)


def test_plays_resizes_and_leaves(terminal):
    """Cautions, phrase, sound, a larger and a smaller window, help, and out: exit 0, engine gone."""
    terminal.wait(lambda text: "Start soft" in text)
    terminal.child.send("\r")
    terminal.wait(lambda text: "phrase 1 of" in text and "stopped" in text)
    terminal.child.send(" ")
    terminal.wait(lambda text: "playing" in text and "▼" in text)
    terminal.resize(120, 36)
    terminal.wait(lambda text: "phrase 1 of" in text and "quit" in terminal.screen.display[-1])
    for size in ((60, 20), (100, 30), (45, 15), (80, 24)):
        terminal.resize(*size)
        time.sleep(0.05)
    terminal.wait(lambda text: "playing" in text and "quit" in terminal.screen.display[-1])
    terminal.child.send("++")
    terminal.wait(lambda text: "tempo 110 %" in text)
    terminal.child.send("?")
    terminal.wait(lambda text: "All keys" in text)
    terminal.child.send("q")
    terminal.wait(lambda text: "All keys" not in text)
    engines = terminal.engines()
    assert engines
    terminal.child.send("q")
    assert terminal.ended() == 0
    assert gone(engines)


def test_the_ear_is_asked(terminal):
    """A question sounds and is told, the answer too, and the loop is there again; the microphone is never opened."""
    terminal.wait(lambda text: "Start soft" in text)
    terminal.child.send("\r")
    terminal.wait(lambda text: "phrase 1 of" in text and "stopped" in text)
    terminal.child.send("A")
    terminal.wait(lambda text: "question 1 of" in text and "▶" in text)
    terminal.resize(60, 20)
    terminal.wait(lambda text: "question 1 of" in text and "end" in terminal.screen.display[-1])
    terminal.child.send("x")
    terminal.wait(lambda text: "go on" in text)
    terminal.child.send("q")
    terminal.wait(lambda text: "Go back to" in text and "back to the phrase" in text)
    terminal.child.send("\r")
    terminal.wait(lambda text: "phrase 1 of" in text and "loop phrase" in text)
    assert len(terminal.engines()) == 1
    terminal.child.send("q")
    assert terminal.ended() == 0


WAYS = {
    "ctrl-c": (lambda terminal: terminal.child.send("\x03"), 0),
    "terminate": (lambda terminal: os.kill(terminal.child.pid, signal.SIGTERM), 128 + signal.SIGTERM),
    "hang up": (lambda terminal: os.kill(terminal.child.pid, signal.SIGHUP), 128 + signal.SIGHUP),
    "kill": (lambda terminal: os.kill(terminal.child.pid, signal.SIGKILL), 128 + signal.SIGKILL),
}


def playing(tune: Path, home: Path, keys: str = " ") -> tuple[Terminal, list[int]]:
    """The program, playing after these keys, and its engine's processes; the cautions have been seen before."""
    (home / "earloop").mkdir()
    (home / "earloop" / "cautions-shown").touch()
    terminal = Terminal(tune, home)
    terminal.wait(lambda text: "stopped" in text)
    terminal.child.send(keys)
    terminal.wait(lambda text: "playing" in text)
    engines = terminal.engines()
    assert engines
    return terminal, engines


@pytest.mark.parametrize("way", WAYS)
def test_no_engine_outlives_the_screen(tune, tmp_path, way):
    """Whatever ends the screen while it plays, the engine ends too."""
    terminal, engines = playing(tune, tmp_path)
    end, code = WAYS[way]
    end(terminal)
    assert terminal.ended() == code
    assert gone(engines)


@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP"])
def test_a_terminal_that_takes_nothing_holds_nobody_up(tune, tmp_path, name):
    """Where nothing that is drawn is read any more, as from a lost terminal, a signal still ends screen and sound."""
    terminal, engines = playing(tune, tmp_path, keys="l l l ")
    for _ in range(40):  # far more drawing than fits on the way
        terminal.child.send("?")
        time.sleep(0.05)
        terminal.child.send("q")
        time.sleep(0.05)
    number = getattr(signal, name)
    os.kill(terminal.child.pid, number)
    until = time.monotonic() + 10
    while terminal.child.isalive() and time.monotonic() < until:
        time.sleep(0.05)
    assert terminal.child.exitstatus == 128 + number
    assert gone(engines)


def test_bad_score_ends_with_two(tmp_path):
    """One sentence, exit code 2, no traceback, whether the file is missing or holds no music."""
    bad = tmp_path / "bad.abc"
    bad.write_text("this is a letter to a friend", encoding="utf-8")
    for path in (tmp_path / "missing.abc", bad):
        terminal = Terminal(path, tmp_path)
        said = terminal.child.read().decode("utf-8", "replace")
        assert terminal.ended() == 2
        assert path.name in said
        assert "Traceback" not in said
