"""Decisions written behind the keys: in order, whole, told where they can't be, and there after a kill."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from earloop.reading import Decisions
from earloop.scores.kept_form import parse
from earloop.scores.kept_reading import KeptReading
from earloop.session.kept_behind import KeptBehind
from tests.killed_programs import Telling, killed_while_deciding, moments_up_to
from tests.made_lines import line_of

LINE = line_of("C4 D4 E4 F4 G4 A4 B4 C5 G4 E4 D4 C4")


def kept(folder: Path) -> KeptBehind:
    return KeptBehind(folder / "tune.abc", LINE, folder / "data")


def test_closing_writes_what_was_decided_last(tmp_path: Path) -> None:
    one = kept(tmp_path)
    for k in range(50):
        one.keep(Decisions(words={0: str(k)}))
    one.close()
    assert parse(one.path.read_text(), "x").decided == Decisions(words={0: "49"})


def test_a_file_changed_by_hand_meanwhile_is_told_of(tmp_path: Path) -> None:
    """The sentence comes later, and comes once."""
    one = kept(tmp_path)
    one.save(Decisions(levels={0: 1}))
    before = one.path
    before.write_text(before.read_text() + "# by hand\n")
    one.keep(Decisions(levels={0: 2}))
    one._writing.finish()
    assert "changed by someone else" in "".join(one.told())
    assert one.told() == []
    assert "# by hand" in before.read_text()


def test_a_full_disk_is_said_and_nothing_decided_is_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The program stays up, and what could not be written is written on leaving if it can be then."""
    full = True

    def save(self: KeptReading, decided: Decisions) -> str:
        if full:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(self, decided)

    real = KeptReading.save
    monkeypatch.setattr(KeptReading, "save", save)
    one = kept(tmp_path)
    one.keep(Decisions(levels={3: 4}))
    one._writing.finish()
    assert "No space left on device" in "".join(one.told())
    full = False
    one.close()
    assert parse(one.path.read_text(), "x").decided == Decisions(levels={3: 4})


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork: Linux or macOS")
def test_killed_at_any_moment_nothing_is_lost_but_what_came_since_the_last_write_began(tmp_path: Path) -> None:
    """60 kills; the file is whole each time, and each write has all that was decided before the one before it ended.

    How long a write takes is the machine's: `python -m tests.bench kept_behind`. (200 more kills, with every write
    waited for, in tests/scores.)
    """
    most = 0
    for file, rows in killed_while_deciding(Telling, "keep", 0.005, tmp_path, moments_up_to(0.25, 60, seed=5)):
        there = int(parse(file.read_text(), "left").decided.words[0]) if file.exists() else -1
        wrote = [number for word, number in rows if word == "wrote"]
        assert there >= max(wrote, default=-1)
        assert there <= max((number for word, number in rows if word != "wrote"), default=0) + 1
        told = known = -1
        for word, number in rows:
            if word == "told":
                told = number
            elif word == "wrote":
                known = told
            else:
                assert number >= known
        most = max(most, len(wrote))
    assert most > 1, "writing goes on while decisions come"
