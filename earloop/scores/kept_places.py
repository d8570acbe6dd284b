"""Where the decisions about a score are kept: beside it, or in the user's data folder. Nothing is written here."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

import platformdirs

from earloop.scores.errors import ScoreError

ENDING = ".earloop.toml"


def data_folder() -> Path:
    """The user's own folder for earloop."""
    return Path(platformdirs.user_data_dir("earloop"))


def beside(score: Path) -> Path:
    """`NAME.earloop.toml` next to the score, whether it is there or not."""
    return score.with_name(score.name + ENDING)


def in_data(score: Path, data: Path) -> Path:
    """Its place in the data folder, marked by the score's own place so that two of one name stay apart."""
    mark = hashlib.sha256(str(score.resolve()).encode()).hexdigest()[:12]
    return data / "readings" / f"{score.name}.{mark}{ENDING}"


def can_be_beside(score: Path) -> bool:
    """Whether decisions can be written next to the score."""
    place = beside(score)
    return os.access(score.parent, os.W_OK) and (not place.exists() or os.access(place, os.W_OK))


def readings_near(score: Path, data: Path | None = None) -> list[Path]:
    """Every kept file about the score, copies under other names too, sorted by name."""
    places = (
        (score.parent, f"{score.name}."),
        ((data or data_folder()) / "readings", in_data(score, data or data_folder()).name.removesuffix(ENDING) + "."),
    )
    found: list[Path] = []
    for folder, start in places:
        if folder.is_dir():
            found += [p for p in folder.iterdir() if p.name.startswith(start) and p.name.endswith(ENDING)]
    return sorted(found)


def free_name(path: Path, word: str = "") -> Path:
    """The first name like `x.2.earloop.toml` (or `x.before1…`) that is not taken."""
    stem = path.name.removesuffix(ENDING)
    for number in range(2 if not word else 1, 1000):
        middle = f"{word}{number}" if word else str(number)
        candidate = path.with_name(f"{stem}.{middle}{ENDING}")
        if not candidate.exists():
            return candidate
    raise ScoreError(f"{path.parent} holds a thousand readings of this score: tidy up")
