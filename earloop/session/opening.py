"""Opening a score on the stand: the line, what was decided about it before, and the session that keeps it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from earloop.coaching.plan import Plan, from_object
from earloop.journal.place import page_name, score_name
from earloop.scores import load_line
from earloop.scores.kept_pages import page_word
from earloop.scores.package import is_package
from earloop.scores.received import receive
from earloop.session.choices import Choices
from earloop.session.diary import Diary
from earloop.session.kept_behind import KeptBehind
from earloop.session.player_port import PlayerPort
from earloop.session.session import DEFAULT, Session


def open_score(
    path: Path,
    player: PlayerPort,
    choices: Choices = DEFAULT,
    data_folder: Path | None = None,
    beside: bool = True,
    diary: Diary | None = None,
    **wanted: Any,
) -> tuple[Session, KeptBehind]:
    """The session on a score, with its kept decisions; each further decision is written at once, and read around later.

    `wanted` goes to `load_line` (part, measures, tune, repeats); without `beside`, decisions go to the data folder
    (the library's own phrases). A package is opened as a copy of its own in the data folder. What is practised is
    noted in the `diary`.
    Raises ScoreError with one sentence. Close the kept reading when the session ends. What was decided while the
    score was read stands in the session's notice.
    """
    received = receive(path, data_folder) if is_package(path) else None
    if received is not None:
        path = received.score
        wanted = wanted if any(wanted.values()) else received.choice
    line = load_line(path, **wanted)
    kept = KeptBehind(path, line, data_folder, beside, page_word(**wanted))
    kept.choice = wanted
    if received is not None:
        kept.notes.insert(0, received.note)
    given = _given(received.plan, kept.notes) if received is not None else None
    session = Session(line, player, choices, kept.decided, reads_later=True)
    session.desk.watch = lambda decided, _: kept.keep(decided)
    session.meanwhile = kept.told
    session.practising.diary = diary
    session.practising.score = score_name(path, None if beside else path.parent, page_name(**wanted))
    session.practising.title = line.title or path.stem
    if given is not None and given.phrase < len(session.reading.phrases):
        session.given_plan = given
        session.go_to_phrase(given.phrase)
    session.notice = " ".join(f"{note[:1].upper()}{note[1:].rstrip('.')}." for note in (*line.notes, *kept.notes))
    return session, kept


def _given(text: str, notes: list[str]) -> Plan | None:
    """The plan that came with a package; what there is to say about it goes to the notes."""
    if not text:
        return None
    try:
        plan = from_object(json.loads(text))
    except (ValueError, RecursionError) as error:
        notes.append(f"the plan that came with it can't be read ({error})")
        return None
    notes.insert(0, f"with a plan for phrase {plan.phrase + 1} from {plan.source}: D shows it")
    return plan
