"""Several students' logs side by side: for each score and phrase the same figures of each."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, tzinfo

from earloop.coaching.progress import degree_counts, link_counts, seconds_spent
from earloop.coaching.standing import standings
from earloop.journal import Happening
from earloop.journal.handed_back import HandedBack


@dataclass(frozen=True, slots=True)
class Figures:
    """One student on one phrase. Shares right lately by layer, question kind and degree; shaky links by their tones."""

    student: str
    minutes: float
    days: int
    last: date | None
    layers: dict[str, float]
    questions: dict[str, float]
    degrees: dict[str, float]
    shaky: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """A phrase (None: the whole line) of a score with the figures of each student, in the order of the files."""

    score: str
    title: str
    phrase: int | None
    students: tuple[Figures, ...]


def side_by_side(logs: Iterable[HandedBack], zone: tzinfo | None = None) -> list[Beside]:
    """Every score and phrase that anyone practised; who did not has figures of nothing."""
    logs = list(logs)
    names = names_of(logs)
    places = {
        (log.score, phrase): log.title
        for log in logs
        for phrase in ({h.phrase for h in log.happenings} or {log.phrase})
    }
    found = []
    for (score, phrase), title in sorted(places.items(), key=lambda p: (p[0][0], -1 if p[0][1] is None else p[0][1])):
        figures = tuple(
            _figures(name, [h for h in log.happenings if h.phrase == phrase], zone)
            for name, log in zip(names, logs, strict=True)
            if log.score == score
        )
        found.append(Beside(score, title, phrase, figures))
    return found


def names_of(logs: list[HandedBack]) -> list[str]:
    """What each student is called: as typed; by the file where nothing was, or where two typed the same."""
    typed = [log.student for log in logs]
    return [
        log.file if not log.student else f"{log.student} ({log.file})" if typed.count(log.student) > 1 else log.student
        for log in logs
    ]


def _figures(name: str, own: list[Happening], zone: tzinfo | None) -> Figures:
    days = {h.at.astimezone(zone).date() for h in own}
    layers = {layer: standing.share for layer, standing in standings(own).items() if standing.share is not None}
    asked: dict[str, list[float]] = {}
    for h in own:
        if h.kind == "answered" and h.result is not None and not h.item.startswith("layer:"):
            asked.setdefault(h.what, []).append(h.result)
    return Figures(
        student=name,
        minutes=seconds_spent(own) / 60,
        days=len(days),
        last=max(days, default=None),
        layers={str(layer): share for layer, share in layers.items()},
        questions={kind: sum(shares) / len(shares) for kind, shares in sorted(asked.items())},
        degrees={count.degree: count.lately for count in degree_counts(own)},
        shaky=tuple((link.first, link.second) for link in link_counts(own) if link.shaky),
    )
