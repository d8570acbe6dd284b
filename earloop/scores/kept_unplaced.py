"""The `[[unplaced]]` tables of a kept file: decisions about an earlier edition that wait for a tone in this one.

    [[unplaced]]
    tone = 14                       # its number in the edition it was decided on, counted from 1
    pitch = "C5"                    # its name there
    level = 4                       # what was decided, named as in [[tone]]

`decorates` and `leans_to` give the other tone's number there, and `second_pitch` its name; a link has `link_to` and
`joined`, a local key `last` and `key`. Comments and unknown fields stay as long as their table has something to place.
"""

from __future__ import annotations

from typing import Any

import tomlkit

from earloop.reading import Key
from earloop.reading.decisions import Unplaced
from earloop.reading.unplaced import COLUMNS, TARGETS
from earloop.scores.key_names import key_from_name

NAME = "unplaced"


def items_of(row: dict[str, Any]) -> list[Unplaced]:
    """What one checked table says, one item a decision."""
    tone, pitch, second_pitch = row["tone"] - 1, row.get("pitch", ""), row.get("second_pitch", "")
    found = [Unplaced(what, row[what], tone, pitch) for what in COLUMNS if what in row]
    for what in TARGETS:
        if what in row:
            second = row[what] - 1 if row[what] else None
            found.append(Unplaced(what, None, tone, pitch, second, second_pitch if second is not None else ""))
    if "link_to" in row:
        found.append(Unplaced("link", row.get("joined", True), tone, pitch, row["link_to"] - 1, second_pitch))
    if "key" in row:
        found.append(
            Unplaced("local", key_from_name(row["key"]), tone, pitch, row.get("last", tone + 1) - 1, second_pitch)
        )
    return found


def put_unplaced(document: tomlkit.TOMLDocument, items: tuple[Unplaced, ...]) -> None:
    """Make the tables say `items`, tables that say them already being left as they are."""
    tables, waiting = document.get(NAME), list(items)
    if tables is None:
        if not waiting:
            return
        document.append(NAME, tomlkit.aot())
        tables = document[NAME]
    gone = []
    for k in range(len(tables)):
        for item in items_of(tables[k].unwrap()):
            if item in waiting:
                waiting.remove(item)
            else:
                for field in _fields(item):
                    if field not in ("tone", "pitch", "second_pitch"):
                        tables[k].pop(field, None)
        if not items_of(tables[k].unwrap()):
            gone.append(k)
    for k in reversed(gone):
        del tables[k]
    for item in waiting:
        table = tomlkit.table()
        table.update(_fields(item))
        tables.append(table)
    if not len(tables):
        document.pop(NAME, None)


def _fields(item: Unplaced) -> dict[str, Any]:
    fields: dict[str, Any] = {"tone": item.tone + 1}
    if item.pitch:
        fields["pitch"] = item.pitch
    if item.what in COLUMNS:
        fields[item.what] = item.value
    elif item.what in TARGETS:
        fields[item.what] = 0 if item.second is None else item.second + 1
    elif item.what == "link":
        fields |= {"link_to": (item.second or 0) + 1, "joined": item.value}
    else:
        fields |= {"last": (item.second or 0) + 1, "key": item.value.name if isinstance(item.value, Key) else ""}
    if item.second_pitch:
        fields["second_pitch"] = item.second_pitch
    return fields
