"""The journal's form on disk, and how an older one becomes the present one.

`user_version` (a number SQLite keeps in the file) counts the steps that were taken. A step is never changed once it was
released: a new form is a new step.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator

STEPS: tuple[str, ...] = (
    """
    CREATE TABLE happenings (
        number INTEGER PRIMARY KEY,
        at TEXT NOT NULL,
        score TEXT NOT NULL,
        title TEXT NOT NULL,
        phrase INTEGER,
        kind TEXT NOT NULL,
        what TEXT NOT NULL,
        item TEXT NOT NULL,
        result REAL,
        seconds REAL NOT NULL,
        detail TEXT NOT NULL
    );
    CREATE INDEX happenings_by_score ON happenings (score, at);
    CREATE INDEX happenings_by_time ON happenings (at);
    """,
    """
    CREATE TABLE plans (
        score TEXT NOT NULL,
        phrase INTEGER NOT NULL,
        at TEXT NOT NULL,
        plan TEXT NOT NULL,
        PRIMARY KEY (score, phrase)
    );
    """,
    """
    ALTER TABLE happenings ADD COLUMN token TEXT;
    CREATE UNIQUE INDEX happenings_by_token ON happenings (token);
    """,
    """
    CREATE TABLE cards (
        score TEXT NOT NULL,
        phrase INTEGER NOT NULL,
        name TEXT NOT NULL,
        due TEXT NOT NULL,
        state TEXT NOT NULL,
        PRIMARY KEY (score, phrase, name)
    );
    CREATE INDEX cards_by_due ON cards (due);
    CREATE TABLE counted (until INTEGER NOT NULL, edits INTEGER NOT NULL, rule TEXT NOT NULL);
    INSERT INTO counted VALUES (0, 0, '');
    CREATE TRIGGER happening_put_between AFTER INSERT ON happenings
    WHEN NEW.number < (SELECT max(number) FROM happenings)
    BEGIN UPDATE counted SET until = 0, edits = edits + 1; END;
    CREATE TRIGGER happening_gone AFTER DELETE ON happenings
    BEGIN UPDATE counted SET until = 0, edits = edits + 1; END;
    CREATE TRIGGER happening_changed AFTER UPDATE ON happenings
    WHEN OLD.number <> NEW.number OR OLD.result IS NOT NULL OR NEW.result IS NOT NULL
        OR instr(OLD.detail, '"links"') OR instr(NEW.detail, '"links"')
    BEGIN UPDATE counted SET until = 0, edits = edits + 1; END;
    """,
)
VERSION = len(STEPS)


class NewerSchemaError(Exception):
    """The file was made by a later earloop."""


def bring_up(connection: sqlite3.Connection) -> None:
    """Take the steps that are missing, all of them or none. Two programs may do so at once: one waits for the other.

    Expects a connection in autocommit mode. Raises NewerSchemaError and sqlite3.Error.
    """
    if version_of(connection) == VERSION:
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = version_of(connection)
        if version > VERSION:
            raise NewerSchemaError
        for step in STEPS[version:]:
            for statement in _statements(step):
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _statements(step: str) -> Iterator[str]:
    """One by one; a trigger holds semicolons of its own."""
    statement = ""
    for part in step.split(";"):
        statement += part + ";"
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""
    yield statement


def version_of(connection: sqlite3.Connection) -> int:
    """How many steps the file has taken."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
