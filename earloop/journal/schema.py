"""The journal's form on disk, and how an older one becomes the present one.

`user_version` (a number SQLite keeps in the file) counts the steps that were taken. A step is never changed once it was
released: a new form is a new step.
"""

from __future__ import annotations

import sqlite3

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
            for statement in step.split(";"):
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def version_of(connection: sqlite3.Connection) -> int:
    """How many steps the file has taken."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])
