"""The journal: a SQLite file that several programs may have open at once and that outlives a kill at any moment.

Write-ahead logging keeps every finished note whole, whenever the program or the machine ends (sqlite.org/wal.html);
`synchronous=FULL` puts it on the disk before `note` returns. Notes are few, so that costs nothing that is felt.
"""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from earloop.journal import counting
from earloop.journal.counting import Counting, KeptCard
from earloop.journal.happening import Happening, UnderWay, faults, stamp
from earloop.journal.moment import now
from earloop.journal.place import journal_path
from earloop.journal.refusal import JournalError
from earloop.journal.schema import NewerSchemaError, bring_up

PATIENCE = 5.0
"""Seconds to wait for another program that is writing."""
COLUMNS = "at, score, title, phrase, kind, what, item, result, seconds, detail"
NOTE = (
    f"INSERT INTO happenings ({COLUMNS}, token) VALUES (?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT (token) DO UPDATE SET "
    f"({COLUMNS}) = ({', '.join(f'excluded.{name}' for name in COLUMNS.split(', '))})"
)
"""A row of its own, or in the place of the row with the same token; NULL equals no other NULL."""


class Journal:
    """Use it in the thread that opened it. Every method raises JournalError with one sentence."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection

    @classmethod
    def open(cls, path: Path | None = None) -> Journal:
        """The journal at `path`, or where `journal_path` says; it is made where there is none."""
        where = journal_path(path)
        connection = None
        with _one_sentence(where):
            where.parent.mkdir(parents=True, exist_ok=True)
            connection = sqlite3.connect(where, timeout=PATIENCE, isolation_level=None)
            try:
                connection.execute("PRAGMA journal_mode = WAL")
                connection.execute("PRAGMA synchronous = FULL")
                connection.execute("PRAGMA secure_delete = ON")
                bring_up(connection)
            except BaseException:
                connection.close()
                raise
        return cls(where, connection)

    def note(self, happening: Happening | UnderWay) -> None:
        """Keep it; on the disk when this returns. Raises ValueError where the happening itself is not sound.

        What is under way takes the place of what was noted of it before.
        """
        self.note_all((happening,))

    def note_all(self, happenings: Iterable[Happening | UnderWay]) -> None:
        """Keep all of them, or none where that fails."""
        rows = [_row(happening) for happening in happenings]
        with _one_sentence(self.path), self._at_once():
            self._connection.executemany(NOTE, rows)

    def happenings(
        self, score: str | None = None, since: datetime | None = None, phrase: int | None = None
    ) -> list[Happening]:
        """What happened, oldest first: on one score, from a moment on, on one phrase (from 0), or all."""
        wanted: list[tuple[str, Any]] = []
        if score is not None:
            wanted.append(("score = ?", score))
        if since is not None:
            wanted.append(("at >= ?", stamp(since)))
        if phrase is not None:
            wanted.append(("phrase = ?", phrase))
        with _one_sentence(self.path):
            return self._selected(
                " AND ".join(condition for condition, _ in wanted) or "TRUE", [value for _, value in wanted]
            )

    def scores(self) -> set[str]:
        """The names of all scores on which something is noted."""
        with _one_sentence(self.path):
            return {name for (name,) in self._connection.execute("SELECT DISTINCT score FROM happenings")}

    def keep_plan(self, score: str, phrase: int, plan: dict[str, Any] | None, at: datetime | None = None) -> None:
        """Keep a plan (a JSON object) for a phrase in place of the one before; None forgets it."""
        row = None
        if plan is not None:
            row = (score, phrase, stamp(at or now()), json.dumps(plan, ensure_ascii=False, allow_nan=False))
        with _one_sentence(self.path), self._at_once():
            self._connection.execute("DELETE FROM plans WHERE score = ? AND phrase = ?", (score, phrase))
            if row is not None:
                self._connection.execute("INSERT INTO plans (score, phrase, at, plan) VALUES (?,?,?,?)", row)

    def kept_plan(self, score: str, phrase: int) -> tuple[datetime, Any] | None:
        """When a plan was kept for the phrase, and the plan; None where there is none."""
        text = "SELECT at, plan FROM plans WHERE score = ? AND phrase = ?"
        with _one_sentence(self.path):
            row = self._connection.execute(text, (score, phrase)).fetchone()
        return None if row is None else (datetime.fromisoformat(row[0]).astimezone(UTC), json.loads(row[1]))

    @contextlib.contextmanager
    def counting(self, rule: str) -> Iterator[Counting]:
        """A look at this moment's journal, for counting on from what is kept of the last counting by the same rule."""
        with _one_sentence(self.path):
            self._connection.execute("BEGIN")
            try:
                yield Counting(self._connection, self._selected, rule)
            finally:
                self._connection.execute("COMMIT")

    def keep_counted(self, counted: Counting, cards: Iterable[KeptCard]) -> bool:
        """Keep the cards that have changed in it, once its look is over; False where it no longer holds."""
        with _one_sentence(self.path), self._at_once():
            return counted.keep(cards)

    def forget_cards(self) -> None:
        """Count everything anew the next time."""
        with _one_sentence(self.path), self._at_once():
            counting.forget(self._connection)

    def wipe(self) -> int:
        """Forget everything, also on the disk; how many happenings there were."""
        with _one_sentence(self.path):
            with self._at_once():
                self._connection.execute("DELETE FROM plans")
                counting.forget(self._connection)
                count = self._connection.execute("DELETE FROM happenings").rowcount
            # Another program's open journal may hold the file's size up; its content is overwritten all the same.
            with contextlib.suppress(sqlite3.OperationalError):
                self._connection.execute("VACUUM")
            self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
        return count

    def close(self) -> None:
        """Let go of the file. May be called twice."""
        with contextlib.suppress(sqlite3.Error):
            self._connection.close()

    def __enter__(self) -> Journal:
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def _selected(self, where: str, values: Sequence[Any]) -> list[Happening]:
        text = f"SELECT {COLUMNS} FROM happenings WHERE {where} ORDER BY at, number"
        rows = self._connection.execute(text, values).fetchall()
        try:
            return [_happening(row) for row in rows]
        except (ValueError, TypeError) as error:
            raise JournalError(f"the journal {self.path} holds what earloop did not write ({error})") from error

    @contextlib.contextmanager
    def _at_once(self) -> Iterator[None]:
        """All of it or nothing."""
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._connection.execute("COMMIT")
        except BaseException:
            if self._connection.in_transaction:
                with contextlib.suppress(sqlite3.Error):
                    self._connection.execute("ROLLBACK")
            raise


@contextlib.contextmanager
def _one_sentence(path: Path) -> Iterator[None]:
    """Turn what the file system and SQLite raise into one sentence."""
    try:
        yield
    except NewerSchemaError:
        raise JournalError(f"the journal {path} was kept by a newer earloop: update this one") from None
    except sqlite3.Error as error:
        raise JournalError(f"the journal {path} {_trouble(error)}") from error
    except OSError as error:
        reason = error.strerror or str(error)
        raise JournalError(f"the journal {path} can't be opened ({reason}): look to its folder") from error


def _trouble(error: sqlite3.Error) -> str:
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith("SQLITE_FULL") or name.startswith("SQLITE_IOERR"):
        return f"can't be written ({error}): make room on the disk"
    if name.startswith("SQLITE_BUSY"):
        return "is held by another program: close it, or try again"
    if name.startswith(("SQLITE_NOTADB", "SQLITE_CORRUPT")):
        return f"is damaged ({error}): move it away, and a new one is begun"
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        return f"can't be opened for writing ({error}): look to its folder"
    return f"can't be used ({error}): move it away, and a new one is begun"


def _row(noted: Happening | UnderWay) -> tuple[Any, ...]:
    h, token = (noted.happening, noted.token) if isinstance(noted, UnderWay) else (noted, None)
    fault = faults(h)
    if fault:
        raise ValueError(f"this can't be noted: {fault}")
    detail = json.dumps(h.detail, ensure_ascii=False, allow_nan=False)
    return (stamp(h.at), h.score, h.title, h.phrase, h.kind, h.what, h.item, h.result, h.seconds, detail, token)


def _happening(row: tuple[Any, ...]) -> Happening:
    at, score, title, phrase, kind, what, item, result, seconds, detail = row
    moment = datetime.fromisoformat(at).astimezone(UTC)
    return Happening(moment, score, title, phrase, kind, what, item, result, seconds, json.loads(detail))
