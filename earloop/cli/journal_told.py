"""`log`: what was practised, as a table, CSV or JSON; taking it out and wiping it."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable
from pathlib import Path

import platformdirs

from earloop.cli.columns import aligned
from earloop.cli.journal_in import happenings_of, opened
from earloop.cli.refusal import Refusal
from earloop.cli.written import written
from earloop.coaching.progress import seconds_spent
from earloop.journal import Happening
from earloop.journal.place import journal_path, short_name
from earloop.journal.written import as_csv, as_object
from earloop.line.counted import counted

WORD = "wipe"
"""What is typed to say that the journal shall really go."""
DONE = {"played": "heard", "sung": "sang", "answered": "answered"}


def log(words: argparse.Namespace) -> int:
    """Show, export or wipe the journal; nothing of it leaves the machine."""
    if words.wipe:
        return _wipe(words)
    happenings = happenings_of(words)
    if words.export is not None:
        return _export(happenings, words.export, words.replace)
    if words.csv:
        sys.stdout.writelines(line.replace("\r\n", "\n") for line in as_csv(happenings))
    elif words.json:
        print(json.dumps([as_object(h) for h in happenings], ensure_ascii=False, indent=1))
    else:
        print(as_table(happenings))
    return 0


def as_table(happenings: list[Happening]) -> str:
    """A line each, in local time, and the sum."""
    if not happenings:
        return "Nothing is noted yet: what you play, sing and answer on the screen will stand here."
    rows: list[tuple[str, ...]] = [("when", "score", "phrase", "what", "right", "passes", "tempo", "minutes")]
    rows += [_told(h) for h in happenings]
    minutes = seconds_spent(happenings) / 60
    days = len({h.at.astimezone().date() for h in happenings})
    entries = counted(len(happenings), "entry", "entries")
    total = f"{entries}, {counted(round(minutes), 'minute')} on {counted(days, 'day')}"
    return "\n".join([*aligned(rows, gives_way=1), "", total])


def _told(h: Happening) -> tuple[str, ...]:
    return (
        f"{h.at.astimezone():%Y-%m-%d %H:%M}",
        h.title or short_name(h.score),
        "" if h.phrase is None else str(h.phrase + 1),
        f"{DONE.get(h.kind, h.kind)} {h.what.replace('_', ' ')}",
        "" if h.result is None else f"{100 * h.result:.0f} %",
        str(h.detail.get("passes", "")),
        f"{h.detail['tempo']} %" if "tempo" in h.detail else "",
        f"{h.seconds / 60:.1f}",
    )


def _export(happenings: list[Happening], out: Path, replace: bool) -> int:
    """The journal in a file of the player's own; by its ending CSV, JSON or JSON Lines."""
    lines: Iterable[str]
    match out.suffix.lower():
        case ".csv":
            lines = as_csv(happenings)
        case ".jsonl":
            lines = (json.dumps(as_object(h), ensure_ascii=False) + "\n" for h in happenings)
        case ".json":
            lines = [json.dumps([as_object(h) for h in happenings], ensure_ascii=False, indent=1) + "\n"]
        case _:
            raise Refusal(f"{out} ends in {out.suffix or 'nothing'}: name it .csv, .json or .jsonl")
    with written(out, replace) as path:
        path.write_text("".join(lines), encoding="utf-8", newline="")
    print(f"{counted(len(happenings), 'entry is', 'entries are')} in {out}")
    return 0


def _wipe(words: argparse.Namespace) -> int:
    where = journal_path()
    if words.file is not None or words.phrase is not None or words.since is not None:
        raise Refusal("--wipe takes the whole journal: leave out the score, --phrase and --since")
    if not where.exists():
        print("There is no journal, so there is nothing to wipe.")
        return 0
    if not words.yes and not _asked(where):
        print("Nothing was wiped.")
        return 0
    with opened() as journal:
        count = journal.wipe()
    print(f"{count} entries are wiped from {where}")
    takes = Path(platformdirs.user_data_dir("earloop")) / "takes"
    if takes.is_dir() and any(takes.iterdir()):
        print(f"The recordings you asked to keep are still in {takes}")
    return 0


def _asked(where: Path) -> bool:
    """Whether the word was typed. Refuses where nobody is there to type it."""
    if not sys.stdin.isatty():
        raise Refusal("wiping needs your word: use a terminal, or add --yes")
    try:
        typed = input(f"Everything in {where} goes, for good. Type {WORD} to do it: ")
    except EOFError:
        return False
    return typed.strip().casefold() == WORD
