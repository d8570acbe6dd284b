"""What follows from the happenings and takes long to work out: a card an item, kept beside them in the journal.

All of it can be worked out anew at any time. `until` in the table `counted` is the number of the last happening that
the cards count, by the rule that is written there. Triggers of the schema set it to 0 and add one to `edits` when a
judged happening is changed or taken away, by whatever program, or put in before others: nothing kept holds any more.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from earloop.journal.happening import Happening, stamp

Select = Callable[[str, Sequence[Any]], list[Happening]]
"""Happenings by the words after WHERE and their values, oldest first."""
NAMES = "score, phrase, name, due, state"


@dataclass(frozen=True, slots=True)
class KeptCard:
    """How an item stands: when it is `due`, and its `state`, text that only its owner understands.

    A phrase of -1 is the whole line.
    """

    score: str
    phrase: int
    name: str
    due: datetime
    state: str


class Counting:
    """A look at the journal at one moment: what was counted before, and what is `fresh` since then.

    Where nothing that is kept holds, everything is fresh. Its methods are for as long as the look lasts.
    """

    def __init__(self, connection: sqlite3.Connection, select: Select, rule: str) -> None:
        self._connection, self._select, self.rule = connection, select, rule
        until, self.edits, before = _counted(connection)
        self.before = until if before == rule else 0
        self.until: int = connection.execute("SELECT coalesce(max(number), 0) FROM happenings").fetchone()[0]
        self.fresh = select("number > ?", (self.before,)) if self.until > self.before else []

    def card(self, score: str, phrase: int, name: str) -> str | None:
        """The state of an item, None where none is kept."""
        if not self.before:
            return None
        text = "SELECT state FROM cards WHERE score = ? AND phrase = ? AND name = ?"
        row = self._connection.execute(text, (score, phrase, name)).fetchone()
        return None if row is None else row[0]

    def cards(self, before: datetime | None = None) -> list[KeptCard]:
        """All cards, or those that are due before a moment."""
        if not self.before:
            return []
        where, values = ("WHERE due < ?", (stamp(before),)) if before else ("", ())
        rows = self._connection.execute(f"SELECT {NAMES} FROM cards {where}", values).fetchall()
        return [
            KeptCard(score, phrase, name, datetime.fromisoformat(due).astimezone(UTC), state)
            for score, phrase, name, due, state in rows
        ]

    def of_phrase(self, score: str, phrase: int) -> list[Happening]:
        """Everything that happened on a phrase, counted or not."""
        return self._select("score = ? AND phrase IS ?", (score, None if phrase < 0 else phrase))

    def keep(self, cards: Iterable[KeptCard]) -> bool:
        """In a transaction of its own: put these in the place of those before; whether nothing came between.

        Another program may have counted meanwhile, or somebody changed what happened: then what is kept stays.
        """
        until, edits, rule = _counted(self._connection)
        if edits != self.edits or (until if rule == self.rule else 0) != self.before:
            return False
        if not self.before:
            self._connection.execute("DELETE FROM cards")
        rows = [(card.score, card.phrase, card.name, stamp(card.due), card.state) for card in cards]
        self._connection.executemany(f"INSERT OR REPLACE INTO cards ({NAMES}) VALUES (?,?,?,?,?)", rows)
        self._connection.execute("UPDATE counted SET until = ?, rule = ?", (self.until, self.rule))
        return True


def forget(connection: sqlite3.Connection) -> None:
    """Count from the beginning the next time."""
    connection.execute("DELETE FROM cards")
    connection.execute("UPDATE counted SET until = 0, edits = edits + 1")


def _counted(connection: sqlite3.Connection) -> tuple[int, int, str]:
    until, edits, rule = connection.execute("SELECT until, edits, rule FROM counted").fetchone()
    return until, edits, rule
