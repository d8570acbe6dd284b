"""Decisions kept beside the score, in `NAME.earloop.toml`. The score itself is never touched.

Every act is written at once and whole: to a new file that then takes the old one's place, so that a program killed
at any moment leaves either the old text or the new. Where the score's folder can't be written, the user's data folder
keeps the file. Who opens it second, while another program has it, is told and writes to a file of its own.
"""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from earloop.line import Line
from earloop.line.counted import counted
from earloop.reading import Decisions
from earloop.scores.carried import carried_over, same_tones, settled_in
from earloop.scores.errors import ScoreError
from earloop.scores.kept_form import KeptText, parse, text_of
from earloop.scores.kept_pages import page_place
from earloop.scores.kept_places import beside, can_be_beside, data_folder, free_name, in_data
from earloop.scores.kept_writing import new_document, written
from earloop.whole_file import write_whole


class KeptReading:
    """The kept decisions about one score. `notes` are sentences for the player; what found no place in the line
    is in `decided.unplaced`. `word` is `page_word` of what was taken of the score, `choice` (for who gives the
    score away) the same in the words of `load_line`.

    Raises ScoreError on opening where the kept file is not good; the file is left as it is.
    """

    def __init__(
        self, score: Path, line: Line, data: Path | None = None, wanted_beside: bool = True, word: str = ""
    ) -> None:
        self.score = score
        self.choice: dict[str, Any] = {}
        self.line = line
        self.notes: list[str] = []
        self.decided = Decisions()
        self._data = data or data_folder()
        plain = self._home_of(score, wanted_beside)
        self.path = page_place(plain, line, word)
        self._lock = self._locked(score)
        try:
            text = text_of(self.path) if self.path.exists() else None
            self._kept = parse(text, self.path.name) if text is not None else KeptText(new_document(line.title))
            if text is None and self.path != plain and plain.exists() and "part" not in word and "tune" not in word:
                self._start_from(plain)
            self._seen = _print_of(text)
            self._carry()
        except ScoreError:
            self.close()
            raise

    def save(self, decided: Decisions) -> str:
        """Write these decisions now. Returns a sentence where they had to go elsewhere, otherwise nothing."""
        told = ""
        if not decided and self._seen is None and not self.decided:
            return told
        if self._seen != _print_of(self._on_disk()):
            changed, self.path = self.path.name, free_name(self.path)
            told = f"{changed} was changed by someone else meanwhile: yours is kept in {self.path.name}"
        text = written(self._kept.document, decided, self.line)
        write_whole(self.path, text, lasting=True)
        self.decided, self._seen = decided, _print_of(text)
        return told

    def text(self, decided: Decisions) -> str:
        """The file's text with these decisions in it, comments and all; nothing is written."""
        return written(self._kept.document, decided, self.line)

    def put_by(self) -> str:
        """Keep what stands in the file now under a further name too, and return that; empty where nothing is kept."""
        text = self._on_disk()
        if text is None or not self.decided:
            return ""
        copy = free_name(self.path, "before")
        write_whole(copy, text, lasting=True)
        return copy.name

    def close(self) -> None:
        """Let others have the file."""
        self._lock.release()

    def _on_disk(self) -> str | None:
        try:
            return self.path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return None

    def _home_of(self, score: Path, wanted_beside: bool) -> Path:
        """Beside the score; in the data folder where that can't be, or is not wanted (the library's own phrases)."""
        near = beside(score)
        if wanted_beside and can_be_beside(score):
            return near
        path = in_data(score, self._data)
        path.parent.mkdir(parents=True, exist_ok=True)
        if wanted_beside:
            self.notes.append(f"{score.parent} can't be written: what you decide is kept in {path.parent}")
        if near.exists() and not path.exists():
            write_whole(path, near.read_text(encoding="utf-8"), lasting=True)
        return path

    def _locked(self, score: Path) -> FileLock:
        """The lock of the file, or of one of our own where another program has it."""
        folder = self._data / "open"
        folder.mkdir(parents=True, exist_ok=True)
        for _ in range(100):
            mark = hashlib.sha256(str(self.path.resolve()).encode()).hexdigest()[:24]
            lock = FileLock(folder / f"{mark}.lock")
            try:
                lock.acquire(timeout=0)
                return lock
            except Timeout:
                taken, self.path = self.path, free_name(self.path)
                if not self.path.exists() and taken.exists():
                    write_whole(self.path, taken.read_text(encoding="utf-8"), lasting=True)
                self.notes.append(f"{taken.name} is open in another earloop: yours is kept in {self.path.name}")
        raise ScoreError(f"{score.name} is open a hundred times: close some")

    def _start_from(self, whole: Path) -> None:
        """Some measures of a score begin with what was decided about them in the whole; the two are kept apart."""
        kept = parse(text_of(whole), whole.name)
        if kept.line is not None:
            self._kept.decided = carried_over(kept.decided, kept.line, self.line)[0]
            self._kept.decided = replace(self._kept.decided, unplaced=())
            self.notes.append(f"what you decide about these measures is kept in {self.path.name}")

    def _carry(self) -> None:
        """Take the kept decisions over to the line as it is now; what finds no tone waits to be placed by hand."""
        old = self._kept.line
        self.decided, _ = settled_in(self._kept.decided, old, self.line)
        if old is not None and not same_tones(old, self.line):
            # The file as it was made for the old edition stays, whatever is decided from now on.
            before = free_name(self.path, "before")
            write_whole(before, self.path.read_text(encoding="utf-8"), lasting=True)
            self.notes.append(f"the score has changed: decisions were carried over, the old ones stay in {before.name}")
            self.save(self.decided)
        count = len(self.decided.unplaced)
        if count:
            waiting = counted(count, "decision has no place", "decisions have no place")
            self.notes.append(f"{waiting} in this score: X puts them where you say")


def _print_of(text: str | None) -> str | None:
    return None if text is None else hashlib.sha256(text.encode()).hexdigest()
