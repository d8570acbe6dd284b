"""A package that was received: unpacked once into the user's data folder, to a copy with decisions of its own.

Whatever the receiver decided about the same score elsewhere is never touched: the received reading stands beside it,
and can be compared with it.
"""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from earloop.scores.errors import ScoreError
from earloop.scores.kept_pages import named_place, page_word
from earloop.scores.kept_places import beside, data_folder, readings_near
from earloop.scores.package import PACKAGE_ENDING, Package, read_package


@dataclass(frozen=True, slots=True)
class Received:
    """Where the copy of the score lies, what to take of it, and a sentence that says where further decisions go.

    `plan` is the JSON text of a plan that came with it; empty where there was none.
    """

    score: Path
    choice: dict[str, Any]
    note: str
    plan: str = ""


def receive(path: Path, data: Path | None = None) -> Received:
    """Unpack the package, or find it where it was unpacked before with what was decided since.

    Raises ScoreError with one sentence.
    """
    package = read_package(path)
    folder = folder_of(package, data or data_folder())
    score = folder / package.score_name
    if not score.exists():
        _unpack(package, folder)
    note = f"a copy of its own, from {package.name}: what you decide here is kept in {_in_short(folder)}"
    return Received(score, package.choice, note, package.plan)


def folder_of(package: Package, data: Path) -> Path:
    """Its folder in the data folder: two packages of one name but other content lie apart."""
    stem = package.name[: -len(PACKAGE_ENDING)]
    return data / "received" / f"{stem}.{package.mark}"


def received_about(score: Path, data: Path | None = None) -> list[Path]:
    """The kept files of all packages received about a score of that name, but for the score's own folder."""
    place = (data or data_folder()) / "received"
    if not place.is_dir():
        return []
    folders = [folder for folder in sorted(place.iterdir()) if folder.resolve() != score.parent.resolve()]
    kept = [
        path for folder in folders if (folder / score.name).is_file() for path in readings_near(folder / score.name)
    ]
    return [path for path in kept if path.parent.parent == place]


def _in_short(folder: Path) -> str:
    """The folder, from the user's own one on."""
    home = Path.home()
    return f"~/{folder.relative_to(home).as_posix()}" if folder.is_relative_to(home) else str(folder)


def _unpack(package: Package, folder: Path) -> None:
    """All of it or nothing: into a folder beside, which then takes the name."""
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        new = Path(tempfile.mkdtemp(prefix=".new-", dir=folder.parent))
        try:
            (new / package.score_name).write_bytes(package.score)
            kept = named_place(beside(new / package.score_name), page_word(**package.choice))
            kept.write_text(package.reading, encoding="utf-8")
            if folder.exists():
                shutil.rmtree(folder)  # left without its score by someone; the package has all of it
            new.rename(folder)
        finally:
            shutil.rmtree(new, ignore_errors=True)
    except OSError as problem:
        raise ScoreError(
            f"{package.name} can't be unpacked into {folder.parent} ({problem.strerror or problem}): make room there"
        ) from None
