"""The four views of the journal as rows of words; in plain ASCII they are all there is, else they stand below."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from earloop.coaching.plan import REST_AFTER
from earloop.coaching.progress import (
    degree_counts,
    layer_courses,
    link_counts,
    minutes_a_day,
    seconds_spent,
)
from earloop.coaching.standing import standings
from earloop.journal import Happening
from earloop.line.counted import counted
from earloop.reading import Reading
from earloop.screen.signs import Signs

BAR = 30
"""Cells of the longest bar in plain ASCII."""
FULL_DAY = 10.0
"""Minutes that fill the bar, where no day has more."""
MOST_LINKS = 40
EMPTY = "Nothing is noted here yet: play a layer, sing it back (V), or ask the ear (A)."


@dataclass(frozen=True)
class Noted:
    """What the views look at: all happenings, which score is on the stand, its reading, the phrase, the day.

    With `one_phrase` degrees and links are those of the phrase alone.
    """

    happenings: Sequence[Happening]
    score: str
    reading: Reading
    phrase: int
    today: date
    signs: Signs
    one_phrase: bool = False

    @property
    def chosen(self) -> list[Happening]:
        """What degrees and links are counted over."""
        return self.of_phrase if self.one_phrase else self.of_score

    @property
    def chosen_told(self) -> str:
        return f"phrase {self.phrase + 1}" if self.one_phrase else "all phrases"

    @cached_property
    def of_score(self) -> list[Happening]:
        return [h for h in self.happenings if h.score == self.score]

    @cached_property
    def by_phrase(self) -> dict[int | None, list[Happening]]:
        """Those of the score, phrase by phrase."""
        found: dict[int | None, list[Happening]] = defaultdict(list)
        for happening in self.of_score:
            found[happening.phrase].append(happening)
        return dict(found)

    @property
    def of_phrase(self) -> list[Happening]:
        return self.by_phrase.get(self.phrase, [])


@dataclass(frozen=True, slots=True)
class View:
    """`title` in the row of views; `of` says over what it is."""

    name: str
    title: str
    of: Callable[[Noted], str]
    rows: Callable[[Noted, bool], list[str]]


def _days(noted: Noted, bars: bool) -> list[str]:
    minutes = minutes_a_day(noted.happenings, noted.today)
    most = max(FULL_DAY, *(value for _, value in minutes))
    week = sum(value for _, value in minutes[-7:])
    total = seconds_spent(noted.happenings) / 60
    spent = counted(round(week), "minute")
    said = f"{spent} in the last seven days, {total:.0f} in all; rest after {REST_AFTER} at the latest"
    if not bars:
        return [said]
    return [f"{day:%a %d %b}  {value:4.0f} {_bar(value / most)}" for day, value in minutes] + ["", said]


def _phrase(noted: Noted, bars: bool) -> list[str]:
    known = standings(noted.of_phrase)
    if not known:
        return [EMPTY, *_all_phrases(noted)]
    courses = layer_courses(noted.of_phrase)
    rows = ["layer         passes  tempo  right lately"]
    for name, standing in known.items():
        tempo = f"{standing.tempo} %" if standing.tempo else ""
        share = "" if standing.share is None else f"{_percent(standing.share)}  {standing.grip}"
        row = f"{name:<14}{standing.passes:>6}{tempo:>7}  {share}"
        if bars and name in courses:
            row = f"{row:<44}  " + " ".join(
                f"{day:%d %b} {_percent(value).strip()}" for day, value in courses[name][-3:]
            )
        rows.append(row)
    return rows + _all_phrases(noted)


def _all_phrases(noted: Noted) -> list[str]:
    """The mean share right lately of each phrase that was practised; nothing where there is one phrase only."""
    told = []
    for phrase in range(len(noted.reading.phrases)):
        own = noted.by_phrase.get(phrase, [])
        shares = [standing.share for standing in standings(own).values() if standing.share is not None]
        if shares:
            told.append(f"{phrase + 1}: {_percent(sum(shares) / len(shares)).strip()}")
        elif own:
            told.append(f"{phrase + 1}: heard")
    return ["", f"phrases  {', '.join(told)}"] if told and len(noted.reading.phrases) > 1 else []


def _degrees(noted: Noted, bars: bool) -> list[str]:
    counts = degree_counts(noted.chosen)
    if not counts:
        return [EMPTY]
    rows = ["degree  right  of  lately"]
    for count in counts:
        degree = noted.signs.accidentals(count.degree)
        row = f"{degree:<7}{count.right:>6}{count.asked:>4}   {_percent(count.lately)}"
        rows.append(f"{row}  {_bar(count.share)}" if bars else row)
    return rows


def _links(noted: Noted, bars: bool) -> list[str]:
    counts = link_counts(noted.chosen)
    if not counts:
        return [EMPTY]
    shaky = sum(link.shaky for link in counts)
    rows = [f"{shaky} of {counted(len(counts), 'link')} {'is' if shaky == 1 else 'are'} shaky"]
    rows.append("tones        degrees  lately  times  last      ")
    for link in counts[:MOST_LINKS]:
        tones = f"{link.first + 1} to {link.second + 1}"
        row = f"{tones:<13}{_degrees_of(noted, link.first, link.second):<9}{_percent(link.lately)}{link.times:>7}"
        row += f"  {link.last.astimezone():%d %b}  {'shaky' if link.shaky else ''}"
        rows.append(f"{row:<58}{_bar(link.lately, 12)}".rstrip() if bars else row.rstrip())
    return rows


def _degrees_of(noted: Noted, first: int, second: int) -> str:
    """`2-1`; nothing where the reading no longer has such tones."""
    degrees = noted.reading.degrees
    if not first < second < len(degrees):
        return ""
    return noted.signs.accidentals(f"{degrees[first]}-{degrees[second]}")


def _percent(share: float) -> str:
    return f"{round(100 * share):>3} %"


def _bar(share: float, cells: int = BAR) -> str:
    return "#" * round(cells * share)


VIEWS: tuple[View, ...] = (
    View("days", "minutes a day", lambda noted: "all scores", _days),
    View("phrase", "phrase", lambda noted: f"phrase {noted.phrase + 1}, share right", _phrase),
    View("degrees", "degrees", lambda noted: noted.chosen_told, _degrees),
    View("links", "links", lambda noted: noted.chosen_told, _links),
)
