"""One thing that happened in practice: something was played, sung or answered."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Literal, get_args

Kind = Literal["played", "sung", "answered"]
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True, slots=True)
class Happening:
    """What happened, when, on which score, and how it went.

    `at` is when it ended, with its time zone; the journal keeps it in UTC. `score` names the score as `score_name`
    gives it; `phrase` counts from 0, None where it was the whole line. `what` is a layer's name, or a question's kind.
    `item` is what is learned by it, always the same for the same thing: `layer:upper`, `link:12-18` (tones, from 0),
    `question:which_line`. `result` is the share that was right, 0 to 1, None where nothing was judged; `seconds` is how
    long it took.

    `detail` holds JSON values. These names have one meaning everywhere: `passes` and `tempo` (percent) of what was
    played; `degrees`, such as `{"2": [3, 4]}`: of four tones of degree 2 three were right; `links`, such as
    `{"12-18": [1, 1]}`, in the same way; `asked` and `given`, a question's right answer and the player's.
    """

    at: datetime
    score: str
    title: str
    phrase: int | None
    kind: Kind
    what: str
    item: str
    result: float | None = None
    seconds: float = 0.0
    detail: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class UnderWay:
    """What has happened so far of something that goes on: a later one with the same token takes its place.

    The token is the one of this happening alone, such as a random UUID.
    """

    token: str
    happening: Happening


def faults(happening: Happening) -> str:
    """Why the happening can't be kept, in one sentence; empty where it can."""
    if happening.at.tzinfo is None:
        return "its time lacks a time zone"
    if happening.kind not in KINDS:
        return f"{happening.kind!r} is none of {', '.join(KINDS)}"
    if happening.phrase is not None and happening.phrase < 0:
        return f"phrase {happening.phrase} is below 0"
    if happening.result is not None and not 0 <= happening.result <= 1:
        return f"the result {happening.result} is not between 0 and 1"
    if not (math.isfinite(happening.seconds) and happening.seconds >= 0):
        return f"it can't have taken {happening.seconds} seconds"
    try:
        json.dumps(happening.detail, allow_nan=False)
    except (TypeError, ValueError) as error:
        return f"its detail is not JSON: {error}"
    return ""


def stamp(at: datetime) -> str:
    """The time in UTC as text of one width, which sorts as time does: `2026-11-25T14:10:17.000000+00:00`."""
    return at.astimezone(UTC).isoformat(timespec="microseconds")
