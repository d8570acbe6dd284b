"""Which output a performer chose, kept between sessions: one small TOML file in the user's configuration folder.

A file that can't be read or written is no fault: earloop then begins with the speaker, as at first.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from earloop.performing import STRANDS
from earloop.sounding.outputs import OutputChoice
from earloop.whole_file import write_whole

WORDS = ("port", "listen", "soundfont")
TURNS = ("low_latency", "clock")
HIGHEST = {"channels": 15, "programs": 127}


def kept_in() -> Path:
    """The file's place."""
    from platformdirs import user_config_path

    return Path(user_config_path("earloop")) / "sound.toml"


def remembered(path: Path | None = None) -> OutputChoice:
    """What was chosen last; whatever in the file makes no sense is left out."""
    import tomllib

    try:
        told = tomllib.loads((path or kept_in()).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return OutputChoice()
    fields: dict[str, Any] = {name: told[name] for name in WORDS if isinstance(told.get(name), str)}
    fields |= {name: told[name] for name in TURNS if isinstance(told.get(name), bool)}
    for name, highest in HIGHEST.items():
        table = told.get(name)
        if isinstance(table, dict):
            fields[name] = tuple(
                (strand, table[strand] - 1)
                for strand in STRANDS
                if isinstance(table.get(strand), int) and 1 <= table[strand] <= highest + 1
            )
    kind = told.get("output")
    choice = replace(OutputChoice(), **fields)
    if kind == "silent" or (kind == "midi" and choice.port):
        return replace(choice, kind=kind)
    return choice


def remember(choice: OutputChoice, path: Path | None = None) -> bool:
    """Writes the choice for the next session, whole or not at all; says whether it could."""
    import tomlkit

    path = path or kept_in()
    document = tomlkit.document()
    document.add(tomlkit.comment("where earloop's sound goes; channels and programs count from 1"))
    document["output"] = choice.kind
    for name in (*WORDS, *TURNS):
        if getattr(choice, name):
            document[name] = getattr(choice, name)
    for name in HIGHEST:
        if getattr(choice, name):
            document[name] = {strand: number + 1 for strand, number in getattr(choice, name)}
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, tomlkit.dumps(document))
    except OSError:
        return False
    return True
