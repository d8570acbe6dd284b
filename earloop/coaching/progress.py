"""What the journal tells over days: time spent, how layers and degrees go, which links are shaky."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo

from earloop.coaching.items import counted, outcomes
from earloop.coaching.standing import LATELY, SURE
from earloop.journal import Happening
from earloop.layers import NAMES, LayerName


@dataclass(frozen=True, slots=True)
class DegreeCount:
    """How often a degree was right, of how many times; `lately` is the share of its last LATELY entries."""

    degree: str
    right: int
    asked: int
    lately: float

    @property
    def share(self) -> float:
        return self.right / self.asked


@dataclass(frozen=True, slots=True)
class LinkCount:
    """A link by its two tones (from 0), how it went lately, and how often it was judged."""

    first: int
    second: int
    lately: float
    times: int
    last: datetime

    @property
    def shaky(self) -> bool:
        """Whether it was not sure lately."""
        return self.lately < SURE


def seconds_spent(happenings: Iterable[Happening]) -> float:
    """Time spent; what happened at the same time (singing along while it played) counts once."""
    return sum((last - first).total_seconds() for first, last in _spells(happenings))


def minutes_a_day(
    happenings: Iterable[Happening], until: date, days: int = 14, zone: tzinfo | None = None
) -> list[tuple[date, float]]:
    """Minutes on each of the last `days` days up to `until`; a spell over midnight belongs to the day it ended on."""
    spent = {until - timedelta(days=back): 0.0 for back in reversed(range(days))}
    for first, last in _spells(happenings):
        day = last.astimezone(zone).date()
        if day in spent:
            spent[day] += (last - first).total_seconds() / 60
    return list(spent.items())


def _spells(happenings: Iterable[Happening]) -> list[tuple[datetime, datetime]]:
    """Times of work, merged where they overlap, oldest first."""
    merged: list[tuple[datetime, datetime]] = []
    spans = sorted((h.at - timedelta(seconds=min(h.seconds, 86400)), h.at) for h in happenings if h.seconds > 0)
    for first, last in spans:
        if merged and first <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], last))
        else:
            merged.append((first, last))
    return merged


def layer_courses(
    happenings: Iterable[Happening], zone: tzinfo | None = None
) -> Mapping[LayerName, list[tuple[date, float]]]:
    """For each layer that was judged, its mean share right on each day it was."""
    by_day: dict[LayerName, dict[date, list[float]]] = {}
    for h in sorted(happenings, key=lambda h: h.at):
        name = next((name for name in NAMES if h.item == f"layer:{name}"), None)
        if name is not None and h.result is not None:
            by_day.setdefault(name, {}).setdefault(h.at.astimezone(zone).date(), []).append(h.result)
    return {
        name: [(day, sum(shares) / len(shares)) for day, shares in by_day[name].items()]
        for name in NAMES
        if name in by_day
    }


def degree_counts(happenings: Iterable[Happening]) -> list[DegreeCount]:
    """Every degree that was ever judged, 1 to 7, altered ones after the plain one."""
    pairs: dict[str, list[tuple[int, int]]] = {}
    for h in sorted(happenings, key=lambda h: h.at):
        for degree, pair in counted(h.detail.get("degrees")).items():
            pairs.setdefault(degree, []).append(pair)
    found = [
        DegreeCount(degree, sum(right for right, _ in own), sum(asked for _, asked in own), _share(own[-LATELY:]))
        for degree, own in pairs.items()
    ]
    return sorted(found, key=lambda count: (count.degree[-1:], len(count.degree), count.degree))


def link_counts(happenings: Iterable[Happening]) -> list[LinkCount]:
    """Every link that was ever judged, the shakiest first."""
    own: dict[tuple[int, int], list[tuple[datetime, float]]] = {}
    for outcome in outcomes(happenings):
        kind, _, tones = outcome.item.name.partition(":")
        first, _, second = tones.partition("-")
        if kind == "link" and first.isdigit() and second.isdigit():
            own.setdefault((int(first), int(second)), []).append((outcome.at, outcome.share))
    found = []
    for (one, two), times in own.items():
        lately = [share for _, share in times[-LATELY:]]
        found.append(LinkCount(one, two, sum(lately) / len(lately), len(times), times[-1][0]))
    return sorted(found, key=lambda link: (link.lately, link.first, link.second))


def _share(pairs: list[tuple[int, int]]) -> float:
    return sum(right for right, _ in pairs) / sum(asked for _, asked in pairs)
