"""Opening a score off the screen's own task: its line and its card. Heavy libraries are imported here, not before."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from earloop.screen.library import phrases_folder
from earloop.screen.memory import settle_memory
from earloop.session.diary import Diary
from earloop.session.player_port import PlayerPort
from earloop.session.session import Session

if TYPE_CHECKING:
    from earloop.scores.kept_reading import KeptReading


@dataclass(frozen=True, slots=True)
class Card:
    """What the file beside a phrase says of it; empty where there is none."""

    title: str = ""
    instrument: str = ""
    grade: int | None = None
    hear: str = ""


@dataclass(frozen=True, slots=True)
class Opened:
    """A score on the stand; `kept` is where its decisions are written, None where they are not."""

    path: Path
    session: Session
    card: Card
    kept: KeptReading | None = None

    @property
    def title(self) -> str:
        """The card's, else the score's own, else the file's name."""
        return self.card.title or self.session.line.title or self.path.stem


def open_session(
    path: Path,
    player: PlayerPort,
    part: int | str | None = None,
    wanted: Mapping[str, Any] | None = None,
    diary: Diary | None = None,
) -> Opened:
    """Load, read and make ready to play; takes its time, so call it in a thread. Raises ScoreError.

    `wanted` names measures, a tune, repeats played out. What was decided before comes back with the score.
    """
    from earloop.session.opening import open_score

    library = phrases_folder()
    beside = library is None or path.resolve().parent != library.resolve()
    session, kept = open_score(path, player, beside=beside, diary=diary, part=part, **(wanted or {}))
    opened = Opened(path, session, card_of(path), kept)
    settle_memory()
    return opened


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
