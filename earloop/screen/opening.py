"""Opening a score off the screen's own task: its line and its card. Heavy libraries are imported here, not before."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path

from earloop.session.player_port import PlayerPort
from earloop.session.session import Session


@dataclass(frozen=True, slots=True)
class Card:
    """What the file beside a phrase says of it; empty where there is none."""

    title: str = ""
    instrument: str = ""
    grade: int | None = None
    hear: str = ""


@dataclass(frozen=True, slots=True)
class Opened:
    """A score on the stand."""

    path: Path
    session: Session
    card: Card


def open_session(path: Path, player: PlayerPort, part: int | str | None = None) -> Opened:
    """Load, read and make ready to play; takes its time, so call it in a thread. Raises ScoreError."""
    from earloop.scores.load import load_line

    line = load_line(path, part=part)
    return Opened(path, Session(line, player), card_of(path))


def card_of(path: Path) -> Card:
    """The card beside a score (same name, `.toml`); an empty one where it is missing or not a card."""
    try:
        fields = tomllib.loads(path.with_suffix(".toml").read_text("utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return Card()
    grade = fields.get("grade")
    return Card(
        title=str(fields.get("title", "")),
        instrument=str(fields.get("instrument", "")),
        grade=grade if isinstance(grade, int) else None,
        hear=str(fields.get("hear", "")),
    )
