"""What was listened to last, kept between sessions: one small TOML file in the user's configuration folder.

A file that can't be read or written is no fault: earloop then listens to the system's own microphone, as at first.
"""

from __future__ import annotations

import contextlib
from pathlib import Path

from earloop.capture.sources import Source
from earloop.whole_file import write_whole


def kept_in() -> Path:
    """The file's place."""
    from platformdirs import user_config_path

    return Path(user_config_path("earloop")) / "listening.toml"


def remembered_input(path: Path | None = None) -> Source:
    """What was chosen last; a recording is never it."""
    import tomllib

    try:
        told = tomllib.loads((path or kept_in()).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return Source()
    name = told.get("name")
    name = name if isinstance(name, str) else ""
    if told.get("input") == "midi" and name:
        return Source("midi", name)
    return Source("nothing") if told.get("input") == "nothing" else Source("microphone", name)


def remember_input(source: Source, path: Path | None = None) -> None:
    """Writes the choice for the next session, whole or not at all."""
    import tomlkit

    if source.kind == "file":
        return
    path = path or kept_in()
    document = tomlkit.document()
    document.add(tomlkit.comment("what earloop listens to: microphone, midi or nothing, and its name"))
    document["input"] = source.kind
    if source.name:
        document["name"] = source.name
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, tomlkit.dumps(document))
