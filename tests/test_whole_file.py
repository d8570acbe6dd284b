"""A file is there whole or not at all: one function for everything that is written by name."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from earloop.whole_file import whole_file, write_whole

SOURCE = Path(__file__).parents[1] / "earloop"


@pytest.mark.parametrize("lasting", [False, True])
def test_what_was_there_stays_where_writing_fails(tmp_path: Path, lasting: bool) -> None:
    path = tmp_path / "tune.mid"
    write_whole(path, "before", lasting=lasting)

    def fill_the_disk() -> None:
        with whole_file(path, lasting=lasting) as part:
            part.write_text("half")
            raise OSError("full")

    with pytest.raises(OSError, match="full"):
        fill_the_disk()
    assert path.read_text() == "before"
    write_whole(path, "after", lasting=lasting)
    assert path.read_text() == "after"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_one_and_a_pipe_is_written_to(tmp_path: Path) -> None:
    path, link = tmp_path / "own" / "kept.toml", tmp_path / "kept.toml"
    path.parent.mkdir()
    path.write_text("before")
    link.symlink_to(path)
    write_whole(link, "after")
    assert link.is_symlink()
    assert path.read_text() == "after"
    if hasattr(os, "mkfifo"):
        pipe, read = tmp_path / "pipe.mid", []
        os.mkfifo(pipe)
        reader = threading.Thread(target=lambda: read.append(pipe.read_text()))
        reader.start()
        write_whole(pipe, "through it")
        reader.join(10)
        assert read == ["through it"]


WRITER = """
import sys
from pathlib import Path
from earloop.whole_file import write_whole
print("writing", flush=True)
while True:
    write_whole(Path(sys.argv[1]), sys.argv[2] * 200_000, lasting=False)
"""


def test_two_programs_that_write_one_file_and_are_killed_leave_it_whole(tmp_path: Path) -> None:
    """Seen at each moment it is the text of one of the two."""
    path = tmp_path / "sound.toml"
    writers = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(path), sign], stdout=subprocess.PIPE, cwd=SOURCE.parent)
        for sign in "ab"
    ]
    try:
        for writer in writers:
            assert writer.stdout
            writer.stdout.readline()
        seen = set()
        for _ in range(2000):
            if path.exists():
                text = path.read_text()
                assert text in ("a" * 200_000, "b" * 200_000)
                seen.add(text[0])
        assert seen
    finally:
        for writer in writers:
            writer.send_signal(signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
            writer.wait()
    assert len(set(path.read_text())) == 1


def test_no_room_writes_whole_files_in_a_way_of_its_own() -> None:
    own = [
        str(path.relative_to(SOURCE))
        for path in sorted(SOURCE.rglob("*.py"))
        if any(word in path.read_text(encoding="utf-8") for word in ("os.replace(", "mkstemp(", "fsync("))
    ]
    assert own == ["whole_file.py"]
