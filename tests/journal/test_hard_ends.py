"""Killed while writing, out of room, several programs at once: what was noted stays, whole and in order."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from earloop.journal import Journal
from earloop.journal.schema import STEPS, VERSION, version_of

NOTES = """
import sys
from datetime import UTC, datetime
from earloop.journal import Happening, Journal
with Journal.open() as journal:
    for number in range(int(sys.argv[2])):
        journal.note(Happening(datetime.now(UTC), sys.argv[1], "t" * 500, number, "played", "upper", "layer:upper"))
        print(number, flush=True)
"""


def program(text: str, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen([sys.executable, "-c", text, *words], stdout=subprocess.PIPE, text=True)


def whole(path: Path) -> bool:
    """SQLite's own judgement of the file."""
    with sqlite3.connect(path) as connection:
        return connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no kill -9")
def test_killed_at_any_moment_nothing_that_was_noted_is_lost(journal_file: Path) -> None:
    """Fifteen programs, each killed somewhere in its writing; every note that returned is there, none is torn."""
    chance = random.Random(6)
    for turn in range(15):
        child = program(NOTES, f"score {turn}", "100000")
        assert child.stdout is not None
        wanted = chance.randrange(1, 60)
        told = -1
        while told + 1 < wanted:
            told = int(child.stdout.readline())
        time.sleep(chance.random() * 0.01)
        child.kill()
        rest = child.stdout.read().split("\n")[:-1]
        child.wait()
        told = int(rest[-1]) if rest else told
        with Journal.open() as journal:
            phrases = [h.phrase for h in journal.happenings(score=f"score {turn}")]
        # The one after the last that was told may have been on the disk already when the kill came.
        assert phrases in (list(range(told + 1)), list(range(told + 2)))
    assert whole(journal_file)


def test_several_programs_begin_and_write_at_once(journal_file: Path) -> None:
    """Three make the journal together and write to it; every note of each is there."""
    children = [program(NOTES, f"score {number}", "60") for number in range(3)]
    for child in children:
        child.communicate(timeout=60)
        assert child.returncode == 0
    with Journal.open() as journal:
        for number in range(3):
            assert [h.phrase for h in journal.happenings(score=f"score {number}")] == list(range(60))
    assert whole(journal_file)


NO_ROOM = """
import resource, sys, time
from datetime import UTC, datetime
from earloop.journal import Happening, Journal
from earloop.session import diary as diaries
diaries.AGAIN = 0.05
def happening(number):
    return Happening(datetime.now(UTC), "score", "t" * 2000, number, "played", "upper", "layer:upper")
diary = diaries.Diary()
diary.note(happening(0))
assert diary.flush(20)
soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
resource.setrlimit(resource.RLIMIT_FSIZE, (60_000, hard))
for number in range(1, 101):
    began = time.monotonic()
    diary.note(happening(number))
    assert time.monotonic() - began < 5
    if number % 10 == 0:
        diary.flush(5)
print(diary.notice, flush=True)
resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
until = time.monotonic() + 20
while not diary.flush(1) and time.monotonic() < until:
    time.sleep(0.01)
print(repr(diary.notice), flush=True)
diary.close(5)
with Journal.open() as journal:
    print([h.phrase for h in journal.happenings()] == list(range(101)))
"""


@pytest.mark.skipif(os.name != "posix", reason="a limit on the size of files needs POSIX")
def test_without_room_a_sentence_is_told_and_nothing_is_lost(journal_file: Path) -> None:
    """Files may grow no further (a quota); the program goes on, and with room again all is written, in order."""
    said, _ = program(NO_ROOM).communicate(timeout=120)
    sentence, afterwards, kept = said.splitlines()
    assert "make room on the disk" in sentence
    assert sentence.endswith(".")
    assert (afterwards, kept) == ("''", "True")
    assert whole(journal_file)


def old_journal(path: Path, version: int) -> None:
    """A journal as an earloop of that time left it; from version 1 on with an entry."""
    with sqlite3.connect(path) as made:
        for step in STEPS[:version]:
            made.executescript(step)
        made.execute(f"PRAGMA user_version = {version}")
        if version:
            made.execute(
                "INSERT INTO happenings (at, score, title, phrase, kind, what, item, result, seconds, detail) VALUES "
                "('2026-01-02T03:04:05.000000+00:00','a.abc','A',2,'sung','upper','layer:upper',0.5,9.0,'{\"x\": 1}')"
            )


@pytest.mark.parametrize("version", range(VERSION))
def test_a_journal_of_each_earlier_form_is_brought_up(journal_file: Path, version: int) -> None:
    """What was in it stays; the file says its new form; doing it again changes nothing."""
    old_journal(journal_file, version)
    for _ in range(2):
        with Journal.open() as journal:
            assert [(h.phrase, h.result, h.detail) for h in journal.happenings()] == [(2, 0.5, {"x": 1})][:version]
    with sqlite3.connect(journal_file) as connection:
        assert version_of(connection) == VERSION


@pytest.mark.parametrize("version", range(VERSION))
def test_a_step_that_fails_half_way_leaves_the_old_form(journal_file: Path, monkeypatch, version: int) -> None:
    """All steps or none: a fault in the last statement takes the others back."""
    old_journal(journal_file, version)
    from earloop.journal import JournalError, schema

    broken = (*STEPS[:-1], STEPS[-1] + "; CREATE NONSENSE")
    monkeypatch.setattr(schema, "STEPS", broken)
    with pytest.raises(JournalError):
        Journal.open()
    with sqlite3.connect(journal_file) as connection:
        assert version_of(connection) == version
        tables = connection.execute("SELECT count(*) FROM sqlite_master WHERE type = 'table'").fetchone()[0]
    fresh = journal_file.with_name(f"fresh-{version}.sqlite")
    old_journal(fresh, version)
    with sqlite3.connect(fresh) as connection:
        assert connection.execute("SELECT count(*) FROM sqlite_master WHERE type='table'").fetchone()[0] == tables
